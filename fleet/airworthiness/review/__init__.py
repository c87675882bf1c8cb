"""The eleven documented checks of an airworthiness review, made from the records (ML.A.903(a)).

Pure: from what is known to what is told. None of them replaces the review by the staff who may make it.
"""

from collections.abc import Callable

from fleet.airworthiness.review import defects, directives, papers, programme, usage
from fleet.airworthiness.review.check import Check, Found, Outcome, Table
from fleet.airworthiness.review.known import Known

CAUTION = (
    "Working paper for an airworthiness review, made from the records of this service alone. It replaces neither the review"
    " by authorised staff with its physical survey, nor the manufacturer's manuals, nor the rules of the authority. It is"
    " no permission to fly. Evidence means that the records hold evidence, not that a check is passed."
)
CHECKS: tuple[tuple[str, Callable[[Known], Found]], ...] = (
    ("Hours and cycles are recorded", usage.hours_and_cycles),
    ("Flight manual is that of the aircraft, in its latest revision", papers.flight_manual),
    ("Maintenance due by the programme is done", programme.maintenance_due),
    ("Known defects are corrected, or deferred in a controlled manner", defects.defects),
    ("Applicable directives are complied with and registered", directives.applied),
    ("Modifications and repairs are registered and comply", defects.repairs),
    ("Life-limited components are identified and inside their limits", programme.life_limits),
    ("Maintenance is certified", defects.certified),
    ("Mass and balance statement is current", papers.mass_and_balance),
    ("Aircraft conforms to its type design", papers.type_design),
    ("Noise certificate is there, if required", papers.noise),
)
_FAILED = "This check could not be made from the records. Tell the administrator, and make it from the papers."


def _safely(make: Callable[[Known], Found], known: Known) -> Found:
    """What cannot be evaluated is open."""
    try:
        return make(known)
    except Exception as error:  # noqa: BLE001  # whatever it is, the paper must say so and not be silent
        return Found(open=(_FAILED,), error=repr(error))


def review(known: Known) -> tuple[Check, ...]:
    """The checks in their order. Never raises; equal input gives equal output."""
    made = [(title, _safely(make, known)) for title, make in CHECKS]
    return tuple(
        Check(
            number=number,
            title=title,
            citation=f"ML.A.903(a)({number})",
            outcome=found.outcome,
            open=found.open,
            notes=found.notes,
            tables=found.tables,
            error=found.error,
        )
        for number, (title, found) in enumerate(made, start=1)
    )


__all__ = ["CAUTION", "CHECKS", "Check", "Known", "Outcome", "Table", "review"]
