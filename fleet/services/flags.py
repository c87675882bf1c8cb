"""Flags: what a job noticed becomes an event, and a notification row for each technical officer."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fleet import assessment, events
from fleet.models import Aircraft, Flag, Membership, Notification, Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """One thing to flag. ``key`` names it for ever: it is flagged once."""

    aircraft: Aircraft
    kind: str
    key: str
    message: str
    subject_type: str
    subject_id: UUID


def _officers(club_ids: set[UUID]) -> dict[UUID, list[Membership]]:
    found: dict[UUID, list[Membership]] = defaultdict(list)
    for member in Membership.objects.filter(
        club_id__in=club_ids, active=True, roles__contains=[Role.TECHNICAL_OFFICER]
    ):
        found[member.club_id].append(member)
    return found


def _entry(notice: Notice, at: datetime) -> events.Entry:
    return events.Entry(
        kind=f"flag_{notice.kind}",
        at=at,
        by=None,
        subject_type=notice.subject_type,
        subject_id=notice.subject_id,
        data={"key": notice.key, "message": notice.message},
    )


def _notify(notices: Sequence[Notice], at: datetime) -> None:
    officers = _officers({notice.aircraft.club_id for notice in notices})
    Notification.objects.bulk_create(
        (
            Notification(
                club_id=notice.aircraft.club_id,
                recipient=officer,
                aircraft=notice.aircraft,
                kind=notice.kind,
                key=notice.key,
                message=notice.message,
                created_at=at,
            )
            for notice in notices
            for officer in officers[notice.aircraft.club_id]
        ),
        ignore_conflicts=True,
    )


@transaction.atomic
def raise_flags(notices: Sequence[Notice], *, at: datetime) -> int:
    """Write those that are new; how many. A constant number of statements; the aircraft are locked against a twin."""
    seen = set(Flag.objects.filter(key__in=[notice.key for notice in notices]).values_list("key", flat=True))
    if all(notice.key in seen for notice in notices):
        return 0
    wanted = Aircraft.objects.filter(id__in={n.aircraft.id for n in notices if n.key not in seen})
    fleet = assessment.lock_many(wanted, at=at)
    seen = set(Flag.objects.filter(key__in=[notice.key for notice in notices]).values_list("key", flat=True))
    new = list({notice.key: notice for notice in notices if notice.key not in seen}.values())
    Flag.objects.bulk_create(Flag(aircraft=n.aircraft, kind=n.kind, key=n.key, raised_at=at) for n in new)
    entries: dict[UUID, list[events.Entry]] = defaultdict(list)
    for notice in new:
        entries[notice.aircraft.id].append(_entry(notice, at))
    events.append({one.event_chain: entries[one.id] for one in fleet})
    _notify(new, at)
    return len(new)
