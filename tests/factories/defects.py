"""A defect in each of its states, led there by the acts. Each step takes the next whole minute."""

from datetime import datetime, timedelta
from typing import Any

from defects.models import Defect
from defects.services import decisions, reports, work
from fleet.models import Aircraft, Membership, Role
from fleet.permissions import today_in
from tests.factories.catalogue import CRITICAL, PLAIN
from tests.factories.clubs import member_of
from tests.factories.constants import NOW

MINUTE = timedelta(minutes=1)


def _inspector(aircraft: Aircraft) -> Membership:
    return member_of(aircraft.club, Role.INSPECTOR)


def reported(
    aircraft: Aircraft, *, critical: bool = False, at: datetime = NOW, by: Membership | None = None, **more: Any
) -> Defect:
    """``reported``: on ``PLAIN``, or on ``CRITICAL``; ``item_code=None`` leaves it unclassified."""
    fields: dict[str, Any] = {
        "description": "Something is not as it should be.",
        "found_at": at,
        "item_code": CRITICAL if critical else PLAIN,
    }
    reporter = by or member_of(aircraft.club, Role.PILOT)
    return reports.report(aircraft_id=aircraft.id, by=reporter, at=at, **(fields | more)).defect


def assessed(aircraft: Aircraft, *, at: datetime = NOW, assessment: str = "no_hazard", **more: Any) -> Defect:
    """``assessed`` by an inspector a minute after its report; ``assessment="hazard"`` for a hazard."""
    defect = reported(aircraft, at=at, **more)
    return decisions.triage(
        defect_id=defect.id,
        by=_inspector(aircraft),
        at=at + MINUTE,
        assessment=assessment,
        justification="Looked at it.",
    ).defect


def no_defect(aircraft: Aircraft, *, at: datetime = NOW, **more: Any) -> Defect:
    """``no_defect``: an inspector decided that nothing is wrong."""
    return assessed(aircraft, at=at, assessment="no_defect", **more)


def deferred(aircraft: Aircraft, *, at: datetime = NOW, days: int = 10, **more: Any) -> Defect:
    """``deferred`` until so many civil days after the report."""
    defect = assessed(aircraft, at=at, **more)
    return decisions.defer(
        defect_id=defect.id,
        by=_inspector(aircraft),
        at=at + 2 * MINUTE,
        limitations=["no aerobatics"],
        basis="club defect policy",
        justification="Has no influence on strength.",
        until_date=today_in(aircraft.club, at) + timedelta(days=days),
    ).defect


def rectified(aircraft: Aircraft, *, at: datetime = NOW, **more: Any) -> Defect:
    """``rectified`` by an inspector, not yet inspected independently."""
    defect = assessed(aircraft, at=at, **more)
    when = at + 3 * MINUTE
    return work.rectify(
        defect_id=defect.id,
        by=_inspector(aircraft),
        at=when,
        work_done="Repaired.",
        data_used="Maintenance manual, chapter 4",
        performed_at=when,
    ).defect


def inspected(aircraft: Aircraft, *, at: datetime = NOW, outcome: str = "accepted", **more: Any) -> Defect:
    """``rectified`` with an independent inspection by a second inspector."""
    defect = rectified(aircraft, at=at, **more)
    other = member_of(aircraft.club, Role.INSPECTOR, other_than={_inspector(aircraft).id})
    return work.inspect_independently(
        defect_id=defect.id, by=other, at=at + 4 * MINUTE, outcome=outcome, remark="Checked."
    ).defect


def rejected(aircraft: Aircraft, *, at: datetime = NOW, **more: Any) -> Defect:
    """``assessed`` again, because the independent inspection rejected the work."""
    return inspected(aircraft, at=at, outcome="rejected", **more)


def released(aircraft: Aircraft, *, at: datetime = NOW, **more: Any) -> Defect:
    """``released`` by the inspector who did the work, after the independent inspection."""
    defect = inspected(aircraft, at=at, **more)
    acted, _signed = work.release(
        defect_id=defect.id, by=_inspector(aircraft), at=at + 5 * MINUTE, reauthenticated=True, statement_accepted=True
    )
    return acted.defect
