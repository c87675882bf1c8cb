"""What scheduled jobs notice about occurrences."""

from datetime import datetime, timedelta

from fleet.services.flags import Notice, raise_flags
from inspections.models import Occurrence

KEPT_IN_VIEW = timedelta(days=30)


def flag_occurrences(at: datetime) -> int:
    """Flag each occurrence with its reporting deadline, once when it is known and once when the deadline has passed."""
    recent = Occurrence.objects.filter(report_due_at__gte=at - KEPT_IN_VIEW).select_related("aircraft").order_by("id")
    return raise_flags([_deadline(one, at) for one in recent], at=at)


def _deadline(occurrence: Occurrence, at: datetime) -> Notice:
    passed = occurrence.report_due_at <= at
    words = occurrence.kind.replace("_", " ")
    deadline = f"{occurrence.report_due_at:%Y-%m-%d %H:%M} UTC"
    when = f"has passed ({deadline})" if passed else f"is {deadline}"
    return Notice(
        aircraft=occurrence.aircraft,
        kind="occurrence_report_overdue" if passed else "occurrence_report_due",
        key=f"occurrence_report_{'overdue' if passed else 'due'}:{occurrence.id}",
        message=f"{occurrence.aircraft.registration}: {words}; if it is reportable,"
        f" the deadline for telling the authority {when}.",
        subject_type="occurrence",
        subject_id=occurrence.id,
    )
