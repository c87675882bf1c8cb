"""The weekly digest for technical officers: what stands against each aircraft, and what ends next."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from fleet import assessment
from fleet.models import AirworthinessState, Club, Membership, Notification, Role

KIND = "weekly_digest"


def _line(registration: str, shown: dict[str, object]) -> str:
    reasons = shown["reasons"]
    due = shown["next_due"]
    worst = reasons[0]["message"] if isinstance(reasons, list) and reasons else "nothing stands against it"
    ends = f" Next: {due['title']} on {due['on']}." if isinstance(due, dict) else ""
    more = f" ({len(reasons) - 1} more)" if isinstance(reasons, list) and len(reasons) > 1 else ""
    return f"{registration}: {shown['status']}; {worst}{more}{ends}"


def _text(club: Club, states: Sequence[AirworthinessState], at: datetime) -> str:
    lines = [_line(state.aircraft.registration, assessment.shown_at(state, at)) for state in states]
    return "\n".join([f"The week's state of the fleet of {club.name}:", *lines])


def write_digests(at: datetime) -> int:
    """One notification an officer and week; the e-mail follows from the row. Safe to run as often as one likes."""
    states: dict[UUID, list[AirworthinessState]] = defaultdict(list)
    for state in AirworthinessState.objects.select_related("aircraft").order_by("aircraft__registration"):
        states[state.aircraft.club_id].append(state)
    officers = Membership.objects.filter(active=True, roles__contains=[Role.TECHNICAL_OFFICER]).select_related("club")
    week = {club_id: _week(club_id, at) for club_id in states}
    written = {
        (row.recipient_id, row.key) for row in Notification.objects.filter(kind=KIND, key__in=set(week.values()))
    }
    new = [
        Notification(
            club=officer.club,
            recipient=officer,
            kind=KIND,
            key=week[officer.club_id],
            message=_text(officer.club, states[officer.club_id], at),
            created_at=at,
        )
        for officer in officers
        if officer.club_id in states and (officer.id, week[officer.club_id]) not in written
    ]
    Notification.objects.bulk_create(new, ignore_conflicts=True)
    return len(new)


def _week(club_id: UUID, at: datetime) -> str:
    year, week, _day = at.astimezone(ZoneInfo("UTC")).isocalendar()
    return f"{KIND}:{club_id}:{year}-W{week:02}"
