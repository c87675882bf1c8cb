"""Pairs of acts that meet on the same defect or aircraft, and who may win."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from defects.models import Defect
from defects.services import decisions, reports, work
from fleet.models import Item, Role
from fleet.services import people, register
from inspections.models import Sheet
from inspections.services import events, records
from tests import factories
from tests.concurrency.cast import MINUTE, Cast
from tests.concurrency.stage import Act
from tests.factories import CRITICAL, PLAIN

BOTH, FIRST, SECOND = (True, True), (True, False), (False, True)
OFFICER, INSPECTOR, PILOT = Role.TECHNICAL_OFFICER, Role.INSPECTOR, Role.PILOT


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """``prepare`` sets out one round: the two acts. ``may_win``: which of them may be done."""

    prepare: Callable[[Cast], tuple[Act, Act]]
    may_win: tuple[tuple[bool, bool], ...] = (BOTH,)


def report(cast: Cast, *, late: int = 0, item: str = CRITICAL) -> Act:
    at = cast.at + timedelta(seconds=late)
    return lambda: reports.report(
        aircraft_id=cast.aircraft.id, by=cast.by(PILOT), at=at, description="Torn.", found_at=at, item_code=item
    )


def _triage(cast: Cast, defect: Defect, number: int, found: str) -> Act:
    return lambda: decisions.triage(
        **cast.on(defect.id, INSPECTOR, number, late=-number), assessment=found, justification="Seen."
    )


def _defer(cast: Cast, defect: Defect, number: int = 0) -> Act:
    terms: dict[str, Any] = {"limitations": ["none"], "basis": "policy", "justification": "x"}
    until = cast.at.date() + timedelta(days=5)
    return lambda: decisions.defer(**cast.on(defect.id, OFFICER, number, late=number), **terms, until_date=until)


def rectify(cast: Cast, defect: Defect, number: int = 0) -> Act:
    done: dict[str, Any] = {"work_done": "Repaired.", "data_used": "Manual", "performed_at": cast.at}
    return lambda: work.rectify(**cast.on(defect.id, INSPECTOR, number, late=number), **done)


def _inspect(cast: Cast, defect: Defect, outcome: str, number: int) -> Act:
    return lambda: work.inspect_independently(
        **cast.on(defect.id, INSPECTOR, number, late=-number), outcome=outcome, remark="Seen."
    )


def _release(cast: Cast, defect: Defect, number: int = 0) -> Act:
    return lambda: work.release(**cast.on(defect.id, INSPECTOR, number), reauthenticated=True, statement_accepted=True)


def withdraw_deferral(cast: Cast, defect: Defect) -> Act:
    return lambda: decisions.withdraw_deferral(**cast.on(defect.id, OFFICER), justification="Changed.")


def _assessed(cast: Cast) -> Defect:
    return factories.assessed(cast.aircraft, at=cast.start)


def _rectified(cast: Cast, *, critical: bool = False) -> Defect:
    return factories.rectified(cast.aircraft, at=cast.start, critical=critical)


def over(
    make: Callable[[Cast], Defect], first: Callable[[Cast, Defect], Act], second: Callable[[Cast, Defect], Act]
) -> Callable[[Cast], tuple[Act, Act]]:
    """Two acts on one defect that is made anew for each round."""

    def prepare(cast: Cast) -> tuple[Act, Act]:
        defect = make(cast)
        return first(cast, defect), second(cast, defect)

    return prepare


ON_DEFECTS: Mapping[str, Pair] = {
    "report + report": Pair(prepare=lambda cast: (report(cast), report(cast, late=-1, item=PLAIN))),
    "triage + triage": Pair(
        prepare=over(
            lambda cast: factories.reported(cast.aircraft, at=cast.start, critical=True),
            lambda cast, defect: _triage(cast, defect, 0, "hazard"),
            lambda cast, defect: _triage(cast, defect, 1, "no_hazard"),
        )
    ),
    "triage + no defect": Pair(
        prepare=over(
            lambda cast: factories.reported(cast.aircraft, at=cast.start, critical=True),
            lambda cast, defect: _triage(cast, defect, 0, "no_defect"),
            lambda cast, defect: _triage(cast, defect, 1, "hazard"),
        ),
        may_win=(BOTH, FIRST),
    ),
    "defer + defer": Pair(
        prepare=over(_assessed, _defer, lambda cast, defect: _defer(cast, defect, 1)), may_win=(FIRST, SECOND)
    ),
    "rectify + defer": Pair(prepare=over(_assessed, rectify, _defer), may_win=(FIRST, BOTH)),
    "rectify + rectify": Pair(
        prepare=over(_assessed, rectify, lambda cast, defect: rectify(cast, defect, 1)), may_win=(FIRST, SECOND)
    ),
    "rectify + withdraw": Pair(
        prepare=over(lambda cast: factories.deferred(cast.aircraft, at=cast.start), rectify, withdraw_deferral),
        may_win=(FIRST, BOTH),
    ),
    "release + reject": Pair(
        prepare=over(_rectified, _release, lambda cast, defect: _inspect(cast, defect, "rejected", 1)),
        may_win=(FIRST, SECOND),
    ),
    "release + accept": Pair(
        prepare=over(
            lambda cast: _rectified(cast, critical=True),
            _release,
            lambda cast, defect: _inspect(cast, defect, "accepted", 1),
        ),
        may_win=(SECOND, BOTH),
    ),
    "accept + reject": Pair(
        prepare=over(
            lambda cast: _rectified(cast, critical=True),
            lambda cast, defect: _inspect(cast, defect, "accepted", 1),
            lambda cast, defect: _inspect(cast, defect, "rejected", 2),
        ),
        may_win=(FIRST, SECOND),
    ),
    "release + release": Pair(
        prepare=over(_rectified, _release, lambda cast, defect: _release(cast, defect, 1)), may_win=(FIRST, SECOND)
    ),
}


def daily(cast: Cast, *, kind: str = "daily") -> Act:
    sheet = Sheet.objects.filter(aircraft_type=cast.aircraft.aircraft_type, kind=kind).latest("version")
    times: dict[str, Any] = {"at": cast.at, "started_at": cast.at - MINUTE, "completed_at": cast.at}
    return lambda: records.record(
        aircraft_id=cast.aircraft.id,
        by=cast.by(PILOT),
        kind=kind,
        second_person=cast.by(PILOT, 1).id,
        results=factories.complete_results(sheet),
        **times,
    )


def _rig(cast: Cast) -> Act:
    return lambda: events.record_rigging(
        aircraft_id=cast.aircraft.id, by=cast.by(PILOT, 1), at=cast.at, kind="rigged", occurred_at=cast.at - 2 * MINUTE
    )


def change_item(cast: Cast, *, critical: bool) -> Act:
    item = Item.objects.get(aircraft_type=cast.aircraft.aircraft_type, code=PLAIN)
    changes = {"critical": critical, "deferrable": not critical}
    return lambda: register.change_item(item, by=cast.by(OFFICER), at=cast.at, changes=changes)


def stricter(cast: Cast) -> Act:
    """The item has just been made less strict, past the service, which would refuse it while a defect is open."""
    Item.objects.filter(code=PLAIN).update(critical=False, deferrable=True)
    return change_item(cast, critical=True)


def change_settings(cast: Cast) -> Act:
    """Another document is required from now on, or no longer."""

    def change() -> object:
        club = cast.club.__class__.objects.select_for_update(no_key=True).get(id=cast.club.id)
        wanted = {"required_documents": [] if club.required_documents else ["radio_licence"]}
        return people.change_settings(club, by=cast.by(Role.ADMINISTRATOR), at=cast.at, changes=wanted)

    return change


def add_aircraft(cast: Cast) -> Act:
    mark = f"ZZ-N{cast.round:02}"
    new: dict[str, Any] = {"registration": mark, "serial_number": mark}
    return lambda: register.add_aircraft(
        aircraft_type=cast.aircraft.aircraft_type, by=cast.by(OFFICER), at=cast.at, **new
    )


def _add_document(cast: Cast) -> Act:
    return lambda: register.add_document(
        aircraft_id=cast.aircraft.id, by=cast.by(OFFICER), at=cast.at, kind="insurance", issued_on=date(2025, 1, 1)
    )


def _withdraw_document(cast: Cast) -> Act:
    first = cast.aircraft.documents.filter(withdrawn_at=None).order_by("recorded_at", "id")[0].id

    def withdraw() -> object:
        aircraft, document = register.lock_document(first, by=cast.by(OFFICER, 1), at=cast.at)
        changes = {"withdrawn_at": cast.at}
        return register.change_document(aircraft, document, by=cast.by(OFFICER, 1), at=cast.at, changes=changes)

    return withdraw


ON_THE_FLEET: Mapping[str, Pair] = {
    "inspection + report": Pair(prepare=lambda cast: (daily(cast), report(cast))),
    "inspection + inspection": Pair(prepare=lambda cast: (daily(cast), daily(cast))),
    "rigging + its inspection": Pair(prepare=lambda cast: (_rig(cast), daily(cast, kind="after_rigging"))),
    "stricter item + report": Pair(prepare=lambda cast: (stricter(cast), report(cast, item=PLAIN))),
    "stricter item + aircraft": Pair(prepare=lambda cast: (stricter(cast), add_aircraft(cast))),
    "settings + report": Pair(prepare=lambda cast: (change_settings(cast), report(cast))),
    "settings + aircraft": Pair(prepare=lambda cast: (change_settings(cast), add_aircraft(cast))),
    "settings + settings": Pair(prepare=lambda cast: (change_settings(cast), change_settings(cast))),
    "settings + item": Pair(prepare=lambda cast: (change_settings(cast), stricter(cast))),
    "document + withdrawal": Pair(prepare=lambda cast: (_add_document(cast), _withdraw_document(cast))),
}
