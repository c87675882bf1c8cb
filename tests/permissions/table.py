"""Who may call what: written by hand from the domain's table of people, not read from the views.

P pilot, T technical officer, I inspector, A auditor, D club administrator. "*" is every member, "-" needs no sign-in.
"""

from fleet.models import Role

LETTERS = {
    "P": Role.PILOT,
    "T": Role.TECHNICAL_OFFICER,
    "I": Role.INSPECTOR,
    "A": Role.AUDITOR,
    "D": Role.ADMINISTRATOR,
}

TABLE: dict[str, dict[str, str]] = {
    "tokens": {"GET": "*", "POST": "-"},
    "tokens/<uuid:pk>": {"GET": "*", "DELETE": "*"},
    "schema": {"GET": "-"},
    "docs": {"GET": "-"},
    "problems": {"GET": "-"},
    "problems/<slug:code>": {"GET": "-"},
    "board": {"GET": "*"},
    "club": {"GET": "*", "PATCH": "D"},
    "rules": {"GET": "*"},
    "aircraft-types": {"GET": "*", "POST": "TD"},
    "aircraft-types/<uuid:pk>": {"GET": "*", "PATCH": "TD"},
    "aircraft-types/<uuid:type_id>/items": {"GET": "*", "POST": "TD"},
    "aircraft-types/<uuid:type_id>/items/<uuid:pk>": {"GET": "*", "PATCH": "TD"},
    "aircraft-types/<uuid:type_id>/sheets": {"GET": "*", "POST": "TD"},
    "aircraft-types/<uuid:type_id>/sheets/<uuid:pk>": {"GET": "*"},
    "aircraft": {"GET": "*", "POST": "TD"},
    "aircraft/<uuid:pk>": {"GET": "*", "PATCH": "TD"},
    "aircraft/<uuid:pk>/airworthiness": {"GET": "*"},
    "aircraft/<uuid:pk>/assessments": {"GET": "*"},
    "aircraft/<uuid:pk>/history": {"GET": "*"},
    "documents": {"GET": "*", "POST": "TD"},
    "documents/<uuid:pk>": {"GET": "*", "PATCH": "TD"},
    "members": {"GET": "*", "POST": "D"},
    "members/me": {"GET": "*"},
    "members/<uuid:pk>": {"GET": "*", "PATCH": "D"},
    "authorisations": {"GET": "*", "POST": "D"},
    "authorisations/<uuid:pk>": {"GET": "*", "PATCH": "D"},
    "events": {"GET": "*"},
    "events/verify": {"GET": "*"},
    "events/<uuid:pk>": {"GET": "*"},
    "notifications": {"GET": "*"},
    "notifications/<uuid:pk>": {"GET": "*"},
    "notifications/<uuid:pk>/read": {"POST": "*"},
    "defects": {"GET": "*", "POST": "PTID"},
    "defects/<uuid:pk>": {"GET": "*"},
    "defects/<uuid:pk>/triage": {"POST": "TI"},
    "defects/<uuid:pk>/defer": {"POST": "TI"},
    "defects/<uuid:pk>/withdraw-deferral": {"POST": "TI"},
    "defects/<uuid:pk>/rectify": {"POST": "PTI"},  # without an inspector named as supervising: inspectors only
    "defects/<uuid:pk>/independent-inspection": {"POST": "TI"},  # and only with an authorisation for it
    "defects/<uuid:pk>/release": {"POST": "I"},
    "inspections": {"GET": "*", "POST": "PTI"},
    "inspections/<uuid:pk>": {"GET": "*"},
    "occurrences": {"GET": "*", "POST": "PTID"},
    "occurrences/<uuid:pk>": {"GET": "*"},
    "rigging-events": {"GET": "*", "POST": "PTI"},
    "rigging-events/<uuid:pk>": {"GET": "*"},
    "attachments": {"GET": "*", "POST": "PTID"},
    "attachments/<uuid:pk>": {"GET": "*"},
    "attachments/<uuid:pk>/content": {"GET": "*"},
}
PERSONAL = {"tokens", "tokens/<uuid:pk>", "notifications", "notifications/<uuid:pk>", "notifications/<uuid:pk>/read"}


def may(route: str, method: str, role: Role) -> bool:
    """Whether a member who holds only this role may call it."""
    who = TABLE[route][method]
    return who in "*-" or role in {LETTERS[letter] for letter in who}
