"""Pairs in which a scheduled job meets an act, or itself."""

from collections.abc import Callable, Mapping
from datetime import datetime

from defects.models import Defect
from defects.services import upkeep as defect_upkeep
from fleet.services import upkeep
from inspections.services import upkeep as inspection_upkeep
from tests import factories
from tests.concurrency.cast import Cast
from tests.concurrency.pairs import BOTH, FIRST, Pair, daily, rectify, report, withdraw_deferral
from tests.concurrency.stage import Act, Job

Sweep = Callable[[datetime], int]


def _overdue(cast: Cast) -> Defect:
    """Deferred to the end of a day that is over by the time of the acts."""
    defect = factories.deferred(cast.aircraft, at=cast.start, days=0)
    cast.next_day()
    return defect


def _job(cast: Cast, sweep: Sweep) -> Act:
    at = cast.at
    return Job(lambda: sweep(at))


def overdue(first: Sweep, second: Callable[[Cast, Defect], Act]) -> Callable[[Cast], tuple[Act, Act]]:
    """A job and an act (or another job) over a deferral that has run out."""

    def prepare(cast: Cast) -> tuple[Act, Act]:
        defect = _overdue(cast)
        return _job(cast, first), second(cast, defect)

    return prepare


def again(sweep: Sweep) -> Callable[[Cast, Defect], Act]:
    return lambda cast, _defect: _job(cast, sweep)


JOBS: Mapping[str, Pair] = {
    "expire + withdraw": Pair(
        prepare=overdue(defect_upkeep.expire_deferrals, withdraw_deferral), may_win=(BOTH, FIRST)
    ),
    "expire + rectify": Pair(prepare=overdue(defect_upkeep.expire_deferrals, rectify)),
    "expire + expire": Pair(prepare=overdue(defect_upkeep.expire_deferrals, again(defect_upkeep.expire_deferrals))),
    "expire + reassess": Pair(prepare=overdue(defect_upkeep.expire_deferrals, again(upkeep.reassess_due))),
    "reassess + reassess": Pair(prepare=overdue(upkeep.reassess_due, again(upkeep.reassess_due))),
    "reassess + report": Pair(prepare=overdue(upkeep.reassess_due, lambda cast, _defect: report(cast))),
    "reassess + inspection": Pair(prepare=overdue(upkeep.reassess_due, lambda cast, _defect: daily(cast))),
    "self-check + report": Pair(prepare=overdue(upkeep.reassess_everything, lambda cast, _defect: report(cast))),
    "flags + flags": Pair(prepare=overdue(defect_upkeep.flag_deferrals, again(defect_upkeep.flag_deferrals))),
    "flags + other flags": Pair(
        prepare=overdue(defect_upkeep.flag_deferrals, again(inspection_upkeep.flag_occurrences))
    ),
    "flags + rectify": Pair(prepare=overdue(defect_upkeep.flag_deferrals, rectify)),
}
