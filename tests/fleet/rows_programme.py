"""Rows of usage, components and the programme, joined to the others, and what spoils them."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Model

from fleet import models as of_fleet
from fleet.models import DIMENSIONS, Component, ComponentKind, Document, Installation, Position, UsageEntry
from fleet.models.usage import LAUNCH_KINDS
from inspections import models as of_inspections
from inspections.models import Directive, Task, TaskLimit
from tests.factories import NOW
from tests.fleet import rows
from tests.fleet.rows import Broken, Row

HOUR = timedelta(hours=1)
DAY = date(2025, 5, 14)
ITSELF = UUID(int=1)
NOTHING: Row = dict.fromkeys((*DIMENSIONS, *LAUNCH_KINDS), 0)
TAKEN_BACK: Row = NOTHING | {"airframe_minutes": -30}


def usage_row() -> Row:
    what: Row = {"airframe_minutes": 30, "launches": 1, "winch_launches": 1, "landings": 1}
    where: Row = {"aircraft": rows.aircraft(), "source": "manual", "flown_on": DAY}
    return where | what | {"recorded_by": rows.member(), "recorded_at": NOW}


def usage() -> UsageEntry:
    return UsageEntry.objects.create(**usage_row())


def kind_row() -> Row:
    return {"club": rows.aircraft().club, "designation": "Hook", "part_number": rows.a_name(), "created_at": NOW}


def kind() -> ComponentKind:
    return ComponentKind.objects.create(**kind_row())


def position_row() -> Row:
    """On the aircraft's type."""
    what: Row = {"code": rows.a_name(), "title": "Odd place", "required": False, "created_at": NOW}
    return what | {"aircraft_type": rows.aircraft().aircraft_type}


def position() -> Position:
    return Position.objects.create(**position_row())


def component_row() -> Row:
    return {
        "kind": kind(),
        "serial_number": rows.a_name(),
        "history_known": True,
        "condition": "serviceable",
        "recorded_by": rows.member(),
        "recorded_at": NOW,
    }


def component() -> Component:
    return Component.objects.create(**component_row())


def installation_row() -> Row:
    return {
        "component": component(),
        "position": position(),
        "aircraft": rows.aircraft(),
        "installed_at": NOW,
        "installed_by": rows.member(),
        "meter_in": {},
    }


def removal() -> Row:
    return {
        "removed_at": NOW + HOUR,
        "removed_by": rows.member(),
        "meter_out": {},
        "removal_reason": "Worn.",
    }


def certificate_row() -> Row:
    row = rows.ROWS[Document]()
    return row | {"kind": "airworthiness_review_certificate", "expires_on": date(2025, 12, 31)}


def certificate() -> Document:
    return Document.objects.create(**certificate_row())


def directive_row() -> Row:
    return {
        "club": rows.aircraft().club,
        "reference": rows.a_name(),
        "revision": "A",
        "title": "Look at the hook",
        "issuer": "Invented Authority",
        "issued_on": DAY,
        "effective_on": DAY,
        "recorded_by": rows.member(),
        "recorded_at": NOW,
    }


def directive_assessment_row() -> Row:
    return {
        "directive": Directive.objects.create(**directive_row()),
        "aircraft": rows.aircraft(),
        "decision": "applicable",
        "reason": "Its serial number is listed.",
        "assessed_by": rows.member(),
        "assessed_at": NOW,
    }


def task_row() -> Row:
    """Of the aircraft's type."""
    what: Row = {"code": rows.a_name(), "title": "Odd task", "basis": "Manual", "created_at": NOW}
    return what | {"club": rows.aircraft().club, "aircraft_type": rows.aircraft().aircraft_type}


def task() -> Task:
    return Task.objects.create(**task_row())


def compliance_row() -> Row:
    return {
        "task": task(),
        "aircraft": rows.aircraft(),
        "done_on": DAY,
        "readings": {},
        "method": "Replaced.",
        "data_used": "Manual",
        "authorisation": of_fleet.Authorisation.objects.order_by("id")[0],
        "done_by": "Ada Invented",
        "recorded_by": rows.member(),
        "recorded_at": NOW,
    }


ROWS: dict[type[Model], Callable[[], Row]] = rows.ROWS | {
    UsageEntry: usage_row,
    of_fleet.UsageTotal: lambda: {"aircraft": rows.bare_aircraft(), "recorded_to": NOW},
    ComponentKind: kind_row,
    Position: position_row,
    Component: component_row,
    Installation: installation_row,
    of_fleet.Overhaul: lambda: {
        "component": component(),
        "done_on": DAY,
        "counts_from": NOW,
        "totals": {},
        "release_document": "Form 1",
        "recorded_by": rows.member(),
        "recorded_at": NOW,
    },
    Directive: directive_row,
    of_inspections.DirectiveAssessment: directive_assessment_row,
    Task: task_row,
    TaskLimit: lambda: {"task": task(), "dimension": "launches", "every": 100},
    of_inspections.Compliance: compliance_row,
    of_inspections.DueItem: lambda: {"task": task(), "aircraft": rows.aircraft(), "state": "ok", "changed_at": NOW},
}

REFUSED: dict[str, list[Broken]] = {
    "usage_signs": [
        *({name: -1} for name in DIMENSIONS if name != "launches"),
        {"launches": -1, "winch_launches": -1},
        *({"winch_launches": 2, name: -1} for name in LAUNCH_KINDS if name != "winch_launches"),
        lambda row: NOTHING | {"airframe_minutes": 30, "source": "correction", "corrects": usage()},
    ],
    "usage_correction_pair": [{"source": "correction"}, lambda row: TAKEN_BACK | {"corrects": usage()}],
    "usage_launches_add_up": [{"launches": 2}, *({name: 2} for name in LAUNCH_KINDS)],
    "usage_flight_times": [
        {"takeoff_at": NOW},
        {"landing_at": NOW},
        {"takeoff_at": NOW, "landing_at": NOW},
        {"takeoff_at": NOW, "landing_at": NOW - HOUR},
    ],
    "usage_counts_something": [NOTHING, NOTHING | {"source": "csv"}, NOTHING | {"source": "flight_recorder"}],
    "usage_total_never_negative": [{name: -1} for name in DIMENSIONS],
    "position_on_type_or_kind": [{"aircraft_type": None}, lambda row: {"parent_kind": kind()}],
    "component_amounts_not_negative": [{name: -1} for name in DIMENSIONS],
    "component_condition_known": [{"condition": "fine", "condition_reason": "New."}],
    "component_unknown_is_unserviceable": [{"history_known": False}],
    "component_condition_reason": [{"condition": "unserviceable"}, {"condition": "retired", "condition_reason": " \n"}],
    "installation_in_aircraft_or_component": [{"aircraft": None}, lambda row: {"parent": component()}],
    "installation_not_in_itself": [lambda row: {"aircraft": None, "parent": row["component"]}],
    "removal_whole": [
        lambda row: removal() | {"removed_at": None},
        lambda row: removal() | {"removed_at": row["installed_at"]},
        lambda row: removal() | {"removed_at": row["installed_at"] - HOUR},
        lambda row: removal() | {"removed_by": None},
        lambda row: removal() | {"meter_out": None},
        lambda row: removal() | {"removal_reason": " "},
        {"removed_at": NOW + HOUR},
        lambda row: {"removed_by": rows.member()},
        {"meter_out": {}},
        {"removal_reason": "Worn."},
    ],
    "overhaul_amounts_not_negative": [{name: -1} for name in DIMENSIONS],
    "overhaul_released": [{"release_document": ""}, {"release_document": " "}],
    "document_extension_of_certificate": [
        lambda row: {"extends": certificate(), "expires_on": date(2025, 12, 31)},
        lambda row: certificate_row() | {"extends": certificate(), "expires_on": None},
        lambda row: certificate_row() | {"id": ITSELF, "extends_id": ITSELF},
    ],
    "directive_not_itself": [{"id": ITSELF, "supersedes_id": ITSELF}],
    "directive_assessment_reason": [{"reason": ""}, {"reason": " \n"}],
    "task_of_one_thing": [
        {"aircraft_type": None},
        lambda row: {"aircraft": rows.aircraft()},
        lambda row: {"component_kind": kind()},
        lambda row: {"aircraft_type": None, "aircraft": rows.aircraft(), "component_kind": kind()},
    ],
    "life_limit_of_a_component": [
        {"life_limit": True},
        lambda row: {"aircraft_type": None, "component_kind": kind(), "life_limit": True, "mandatory": False},
    ],
    "task_counting_known": [{"counting": "from_memory"}, {"counting": ""}],
    "limit_dimension_known": [{"dimension": "weeks"}, {"dimension": ""}],
    "limit_given": [{"first": 0, "every": 0}],
    "limit_tolerance_unit": [
        {"tolerance_in": "days"},
        {"dimension": "days"},
        {"dimension": "months", "tolerance_in": "weeks"},
    ],
    "compliance_on_something": [{"aircraft": None}],
    "compliance_signed_or_opening": [{"authorisation": None}],
    "compliance_described": [{"method": ""}, {"method": " \n"}, {"data_used": ""}, {"data_used": " "}],
    "due_state_known": [{"state": "fine"}, {"state": ""}],
    "due_dates_together": [
        *({name: DAY} for name in ("notice_on", "due_on", "hard_on")),
        {"notice_on": DAY, "due_on": DAY},
        {"notice_on": DAY, "hard_on": DAY},
        {"due_on": DAY, "hard_on": DAY},
    ],
}


def in_component() -> Row:
    """A place on a kind, for an installation in a component."""
    parent = component()
    place = Position.objects.create(**position_row() | {"aircraft_type": None, "parent_kind": parent.kind})
    return {"aircraft": None, "parent": parent, "position": place}


# What a pair of rows needs besides to be covered by a constraint that holds under a condition, or where nothing is NULL.
PAIRS: dict[str, Callable[[], tuple[Row, Row]]] = {
    "one_answer_a_key": lambda: ({"membership": rows.member()}, {}),
    "one_position_code_a_kind": lambda: ({"aircraft_type": None, "parent_kind": kind()}, {"aircraft_type": None}),
    "one_extension_a_certificate": lambda: (certificate_row() | {"extends": certificate()}, certificate_row()),
    "one_calendar_limit": lambda: (
        {"dimension": "days", "tolerance_in": "days"},
        {"dimension": "months", "tolerance_in": "days"},
    ),
}

# Installations that collide by the fields of the constraint and by nothing else.
PLACES: dict[str, tuple[Callable[[], Row], tuple[str, ...]]] = {
    "component_in_one_place": (dict, ("component",)),
    "aircraft_position_holds_one": (dict, ("aircraft", "position")),
    "component_position_holds_one": (in_component, ("aircraft", "parent", "position")),
}
