"""How an act is done: straight through the services, as the machine's first half does (the other: ``over_http``)."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from defects.services import decisions, reports, work
from fleet import selectors
from fleet.errors import NotFound
from fleet.models import Authorisation, Club, Membership
from fleet.services import people, register
from inspections.services import events, records


@dataclass(frozen=True, slots=True)
class Recorded:
    """What an inspection came to: whether complete, and the defects it raised, each with its item's code."""

    complete: bool
    defects: tuple[tuple[UUID, str], ...]


class Services:
    """One method an act; the defects' acts by name. Everything raises a ``DomainError`` when it is refused."""

    def report(self, by: Membership, at: datetime, **said: Any) -> object:
        return reports.report(by=by, at=at, **said)

    def act_on_defect(self, name: str, by: Membership, at: datetime, **said: Any) -> object:
        acts: dict[str, Callable[..., object]] = {
            "triage": decisions.triage,
            "defer": decisions.defer,
            "withdraw": decisions.withdraw_deferral,
            "rectify": work.rectify,
            "inspect": work.inspect_independently,
            "release": work.release,
        }
        return acts[name](by=by, at=at, **said)

    def inspect(self, by: Membership, at: datetime, **said: Any) -> Recorded:
        done = records.record(by=by, at=at, **said)
        return Recorded(done.inspection.complete, tuple((one.id, one.item.code) for one in done.defects if one.item))

    def rig(self, by: Membership, at: datetime, **said: Any) -> object:
        return events.record_rigging(by=by, at=at, **said)

    def occur(self, by: Membership, at: datetime, **said: Any) -> object:
        return events.report_occurrence(by=by, at=at, **said)

    def add_document(self, by: Membership, at: datetime, **said: Any) -> UUID:
        return register.add_document(by=by, at=at, **said)[0].id

    def change_document(self, by: Membership, at: datetime, document_id: UUID, changes: dict[str, Any]) -> object:
        aircraft, document = register.lock_document(document_id, by=by, at=at)
        return register.change_document(aircraft, document, by=by, at=at, changes=changes)

    def change_item(self, by: Membership, at: datetime, type_id: UUID, code: str, changes: dict[str, Any]) -> object:
        """Looked up in the club, as the edge does it."""
        item = selectors.items_of(by.club_id, type_id).filter(code=code).first()
        if item is None:
            raise NotFound("item_not_found", "There is no such item in your club.")
        return register.change_item(item, by=by, at=at, changes=changes)

    def change_settings(self, by: Membership, at: datetime, changes: dict[str, Any]) -> object:
        club = Club.objects.select_for_update(no_key=True).get(id=by.club_id)
        return people.change_settings(club, by=by, at=at, changes=changes)

    def change_member(self, by: Membership, at: datetime, member_id: UUID, changes: dict[str, Any]) -> object:
        member = selectors.members_of(by.club_id).filter(id=member_id).first()
        if member is None:
            raise NotFound("member_not_found", "There is no such member in your club.")
        return people.change_member(member, by=by, at=at, changes=changes)

    def end_authorisation(self, by: Membership, at: datetime, authorisation_id: UUID) -> object:
        held = Authorisation.objects.get(id=authorisation_id, membership__club_id=by.club_id)
        return people.change_authorisation(held, by=by, at=at, changes={"revoked": True})
