"""Many people on two aircraft at once: every act that was answered is in the record, once, and what is shown is true."""

import os
import random
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

import pytest

from defects.models import Defect
from defects.services import decisions, reports, work
from fleet.models import Event, Role
from inspections.services import events
from tests.concurrency.cast import Cast, check
from tests.concurrency.pairs import change_settings
from tests.concurrency.stage import Act, Stage
from tests.factories import CRITICAL, PLAIN

pytestmark = pytest.mark.django_db(transaction=True)
WAVES = int(os.environ.get("STORM_WAVES", "25"))
HANDS = 5


class Storm:
    """One wave of random acts after the other."""

    def __init__(self, cast: Cast, seed: int) -> None:
        self.cast, self.dice = cast, random.Random(seed)  # noqa: S311 - a schedule, not a secret

    def act(self) -> tuple[str, Act]:
        """Its event, and the act; an act that its defect does not allow is refused, which is an answer too."""
        kind = self.dice.choices(list(KINDS), weights=[3, 4, 2, 4, 2, 4, 1, 1])[0]
        return kind, KINDS[kind](self)

    def on_defect(self, role: str) -> dict[str, Any]:
        defects = list(Defect.objects.order_by("-number").values_list("id", flat=True)[:4])
        chosen = self.dice.choice(defects) if defects else self.cast.aircraft.id
        late = self.dice.randrange(3)
        return self.cast.on(chosen, role, self.dice.randrange(2), late=late)

    def report(self) -> Act:
        aircraft, item = (
            self.dice.choice([self.cast.aircraft, self.cast.other]),
            self.dice.choice([CRITICAL, PLAIN, None]),
        )
        at, by = self.cast.at + timedelta(seconds=self.dice.randrange(3)), self.cast.by(Role.PILOT)
        return lambda: reports.report(
            aircraft_id=aircraft.id, by=by, at=at, description="x", found_at=at, item_code=item
        )

    def triage(self) -> Act:
        common, found = self.on_defect(Role.INSPECTOR), self.dice.choice(["hazard", "no_hazard", "no_defect"])
        return lambda: decisions.triage(**common, assessment=found, justification="Seen.", item_code=PLAIN)

    def defer(self) -> Act:
        common, until = self.on_defect(Role.TECHNICAL_OFFICER), self.cast.at.date() + timedelta(days=3)
        more: dict[str, Any] = {"limitations": ["none"], "basis": "policy", "justification": "x"}
        return lambda: decisions.defer(**common, **more, until_date=until)

    def rectify(self) -> Act:
        common, at = self.on_defect(Role.INSPECTOR), self.cast.at + timedelta(seconds=3)
        return lambda: work.rectify(**common, work_done="x", data_used="x", performed_at=at)

    def inspect(self) -> Act:
        common, outcome = self.on_defect(Role.INSPECTOR), self.dice.choice(["accepted", "rejected"])
        return lambda: work.inspect_independently(**common, outcome=outcome, remark="x")

    def release(self) -> Act:
        common = self.on_defect(Role.INSPECTOR)
        return lambda: work.release(**common, reauthenticated=True, statement_accepted=True)

    def rig(self) -> Act:
        at, by = self.cast.at, self.cast.by(Role.PILOT)
        return lambda: events.record_rigging(
            aircraft_id=self.cast.other.id, by=by, at=at, kind="rigged", occurred_at=at
        )

    def settings(self) -> Act:
        return change_settings(self.cast)


KINDS: Mapping[str, Callable[[Storm], Act]] = {
    "defect_report": Storm.report,
    "defect_triage": Storm.triage,
    "defect_defer": Storm.defer,
    "defect_rectify": Storm.rectify,
    "defect_independent_inspection": Storm.inspect,
    "defect_release": Storm.release,
    "aircraft_rigged": Storm.rig,
    "club_settings_change": Storm.settings,
}


def test_every_answered_act_is_recorded_once() -> None:
    cast = Cast()
    storm, answered = Storm(cast, seed=1), Counter[str]()
    before = recorded()
    with Stage(HANDS) as stage:
        for wave in range(WAVES):
            acts = [storm.act() for _ in range(HANDS)]
            outcomes = stage.at_once(*(act for _kind, act in acts), seed=wave)
            answered.update(kind for (kind, _act), outcome in zip(acts, outcomes, strict=True) if outcome.done)
            check(cast)
            cast.next_round()
    assert recorded() - before == answered
    assert set(answered) == set(KINDS), f"too little happened: {answered}"


def recorded() -> Counter[str]:
    """Events by kind; a change of settings stands in the club's chain and in each aircraft's."""
    found = Counter(
        Event.objects.filter(kind__in=KINDS).exclude(kind="club_settings_change").values_list("kind", flat=True)
    )
    found["club_settings_change"] = Event.objects.filter(kind="club_settings_change", aircraft=None).count()
    return found
