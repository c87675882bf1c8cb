"""Rules of the machine: time passes, people look, jobs run early, late and twice."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from hypothesis import strategies as st
from hypothesis.stateful import initialize, rule

from defects.services import upkeep as defect_upkeep
from fleet.models import AirworthinessState
from fleet.services import upkeep
from inspections.services import upkeep as inspection_upkeep
from tests.stateful import snapshot
from tests.stateful.fleet_acts import FleetActs
from tests.stateful.world import STARTS

TICK = timedelta(microseconds=1)
STEPS = st.sampled_from(
    [TICK, timedelta(seconds=1), timedelta(minutes=20), timedelta(hours=6), timedelta(days=1), timedelta(days=3)]
)
BESIDE = st.sampled_from([timedelta(0), -TICK, TICK, timedelta(hours=1)])
JOBS = {
    "reassess": upkeep.reassess_due,
    "expire deferrals": defect_upkeep.expire_deferrals,
    "flag deferrals": defect_upkeep.flag_deferrals,
    "flag reports": defect_upkeep.flag_reports,
    "flag dailies": upkeep.flag_lapsed_dailies,
    "flag occurrences": inspection_upkeep.flag_occurrences,
    "self-check": upkeep.reassess_everything,
}


class TimeActs(FleetActs):
    """The machine as a whole."""

    @initialize(data=st.data(), start=st.sampled_from(STARTS))
    def begin(self, data: st.DataObject, start: datetime) -> None:
        self.now = start
        self.check()
        for _ in range(data.draw(st.integers(0, 2), label="defects to begin with")):
            self.report(data)

    @rule(data=st.data(), until=st.sampled_from(["later", "turn", "midnight"]))
    def wait(self, data: st.DataObject, until: str) -> None:
        """Then people look; no job has run."""
        if until == "turn":
            self._wait_for_a_turn(data, data.draw(BESIDE))
        elif until == "midnight":
            self._wait_for_midnight(data, data.draw(BESIDE))
        else:
            self.go_to(self.now + data.draw(STEPS))
        self.check()

    def _wait_for_a_turn(self, data: st.DataObject, beside: timedelta) -> None:
        """To the very instant at which a stored verdict runs out, or just beside it."""
        states = {state.aircraft_id: state for state in AirworthinessState.objects.all()}
        turns = [states[craft_id].valid_until for craft_id in self.crafts]
        ahead = [turn for turn in turns if turn is not None and turn > self.now]
        if ahead:
            self.go_to(data.draw(st.sampled_from(ahead), label="turn") + beside)

    def _wait_for_midnight(self, data: st.DataObject, beside: timedelta) -> None:
        """By the clock on the wall, in the club's zone."""
        craft = self.a_craft(data)[1]
        tomorrow = craft.settings.day(self.now) + timedelta(days=1)
        midnight = datetime.combine(tomorrow, time(), ZoneInfo(craft.settings.zone))
        self.go_to(midnight.astimezone(ZoneInfo("UTC")) + beside)

    @rule(job=st.sampled_from(sorted(JOBS)), times=st.integers(1, 2))
    def run_job(self, job: str, times: int) -> None:
        for again in range(times):
            done = self.act(job, None, lambda: JOBS[job](self.now))
            assert done is not None
            assert job != "self-check" or done == 0, f"{done} stored verdicts differed from the recomputed ones"
            if again:
                assert snapshot.take() == self.rows, f"{job} ran twice and did something twice"
            if job == "expire deferrals":
                self._expire()
            self.settle(better=False)

    def _expire(self) -> None:
        for craft in self.crafts.values():
            for flaw in craft.flaws.values():
                last = flaw.deferred.last_day if flaw.state == "deferred" and flaw.deferred else None
                if flaw.deferred and last is not None and craft.settings.day(self.now) > last:
                    flaw.state, flaw.deferred.ended, flaw.deferred.past = "assessed", True, True
