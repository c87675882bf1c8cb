"""Jobs of continuing airworthiness: the sweep, flags of what stands, the weekly digest."""

from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from fleet.models import Flag, Membership, Notification, Role
from fleet.services import reason_flags, upkeep, weekly
from fleet.services.mail import send_notifications
from inspections.models import DueItem
from inspections.services import sweep
from tests.factories import ClubFactory, InspectorFactory, MemberFactory, make_aircraft
from tests.factories.programme import complied, make_task
from tests.factories.usage import opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def officer() -> Membership:
    made: Membership = MemberFactory.create(
        club=ClubFactory.create(), roles=[Role.TECHNICAL_OFFICER], email="officer@club.example"
    )
    return made


def test_an_overdue_task_is_swept_judged_and_flagged_once(officer: Membership) -> None:
    InspectorFactory.create(club=officer.club)
    aircraft = make_aircraft(officer.club)
    opened(aircraft)
    now = timezone.now()
    task = make_task(aircraft.aircraft_type, {"dimension": "days", "every": 90, "notice": 10})
    complied(task, aircraft, on=now.date(), at=now)
    assert reason_flags.flag_reasons(now) == 0
    later = now + timedelta(days=85)
    assert sweep.sweep_and_judge(later) == 1
    assert DueItem.objects.get().state == "due_soon"
    assert reason_flags.flag_reasons(later) == 1
    assert reason_flags.flag_reasons(later + timedelta(hours=1)) == 0
    outage = now + timedelta(days=300)  # nobody ran anything for half a year
    upkeep.reassess_due(outage)
    sweep.sweep_and_judge(outage)
    assert DueItem.objects.get().state == "overdue"
    assert reason_flags.flag_reasons(outage) == 1
    assert sorted(Flag.objects.values_list("kind", flat=True)) == ["task_due_soon", "task_overdue"]
    assert Notification.objects.filter(recipient=officer).count() == 2


def test_the_digest_is_written_once_a_week_and_mailed(officer: Membership) -> None:
    aircraft = make_aircraft(officer.club)
    now = timezone.now()
    assert weekly.write_digests(now) == 1
    assert weekly.write_digests(now) == 0
    assert weekly.write_digests(now + timedelta(days=7)) == 1
    send_notifications(now)
    assert aircraft.registration in mail.outbox[0].body
    assert "serviceable" in mail.outbox[0].body
