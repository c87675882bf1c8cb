"""The time limit for telling the authority of an occurrence."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from defects.models import Defect
from defects.services import upkeep as of_defects
from fleet.models import Aircraft, Notification, Role
from inspections.models import Occurrence
from inspections.services import events
from inspections.services import upkeep as of_inspections
from tests.factories import reported
from tests.outside.conftest import Everybody

pytestmark = pytest.mark.django_db

# Check value T51: Regulation (EU) 376/2014, Article 4(7) (read): within 72 hours of becoming aware.
AWARE = datetime(2025, 7, 4, 18, 30, tzinfo=UTC)
REPORT_BY = datetime(2025, 7, 7, 18, 30, tzinfo=UTC)


def told_of_a_defect(aircraft: Aircraft, everybody: Everybody) -> datetime | None:
    found_at = AWARE - timedelta(days=2)  # what counts is when somebody became aware, not when it happened
    reported(aircraft, at=AWARE, found_at=found_at, by=everybody[Role.PILOT], occurrence=True)
    return Defect.objects.get().report_due_at


def told_of_an_occurrence(aircraft: Aircraft, everybody: Everybody) -> datetime | None:
    events.report_occurrence(
        aircraft_id=aircraft.id,
        by=everybody[Role.PILOT],
        at=AWARE,
        kind="heavy_landing",
        occurred_at=AWARE - timedelta(days=2),
        description="Bounced.",
    )
    return Occurrence.objects.get().report_due_at


@pytest.mark.parametrize(
    ("told", "job"),
    [(told_of_a_defect, of_defects.flag_reports), (told_of_an_occurrence, of_inspections.flag_occurrences)],
)
def test_the_limit_is_72_hours_from_becoming_aware(
    aircraft: Aircraft,
    everybody: Everybody,
    told: Callable[[Aircraft, Everybody], datetime | None],
    job: Callable[[datetime], int],
) -> None:
    assert told(aircraft, everybody) == REPORT_BY
    job(REPORT_BY - timedelta(seconds=1))
    kinds = Notification.objects.order_by("kind").values_list("kind", flat=True)
    assert set(kinds) == {"occurrence_report_due"}
    job(REPORT_BY)
    assert set(kinds.all()) == {"occurrence_report_due", "occurrence_report_overdue"}
    for notification in Notification.objects.filter(kind="occurrence_report_overdue"):
        assert "2025-07-07 18:30 UTC" in notification.message


def test_a_defect_that_nobody_holds_reportable_has_no_limit(aircraft: Aircraft) -> None:
    reported(aircraft, at=AWARE)
    assert Defect.objects.get().report_due_at is None
