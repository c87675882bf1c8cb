"""For every sequence of installing, removing and flying: the life of a component is what it brought and what it flew.

What is installed where is told by a model of a few lines, flight by flight, without spans.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet import life
from fleet.errors import Conflict
from fleet.models import Aircraft, Component
from tests.factories import NEW, installed, removed
from tests.fleet.flying import flown
from tests.fleet.hangar import Hangar, a_hangar, on
from tests.unchanged import taken_back

pytestmark = pytest.mark.django_db

BROUGHT = 1_000
HOUR = timedelta(hours=1)
Place = Aircraft | Component

steps = st.one_of(
    st.tuples(st.just("install"), st.integers(0, 3), st.integers(0, 1)),
    st.tuples(st.just("remove"), st.integers(0, 3), st.just(0)),
    st.tuples(st.just("fly"), st.integers(0, 1), st.integers(1, 45)),
    st.tuples(st.just("fly late"), st.integers(0, 1), st.integers(1, 12)),
)


@dataclass
class Model:
    """Who was where and when, and every flight."""

    stays: list[list[Any]] = field(default_factory=list)  # component, place, since, until
    flights: list[tuple[Aircraft, datetime, int]] = field(default_factory=list)

    def place_at(self, component: Component, instant: datetime) -> Place | None:
        for one, place, since, until in self.stays:
            if one == component and since <= instant and (until is None or instant < until):
                return place  # type: ignore[no-any-return]
        return None

    def aircraft_at(self, component: Component, instant: datetime) -> Aircraft | None:
        place = self.place_at(component, instant)
        return self.aircraft_at(place, instant) if isinstance(place, Component) else place

    def taken(self, place: Place, instant: datetime) -> bool:
        return any(one[1] == place and self.place_at(one[0], instant) == place for one in self.stays)

    def minutes(self, component: Component) -> int:
        return sum(
            minutes for aircraft, takeoff, minutes in self.flights if self.aircraft_at(component, takeoff) == aircraft
        )


@dataclass
class Play:
    """Every step once through the services and once in the model, which also says what must be refused."""

    hangar: Hangar
    engines: list[Component]
    magnetos: list[Component]
    model: Model = field(default_factory=Model)

    @property
    def components(self) -> list[Component]:
        return [*self.engines, *self.magnetos]

    @property
    def fleet(self) -> list[Aircraft]:
        return [self.hangar.one, self.hangar.other]

    def step(self, act: str, which: int, what: int, now: datetime) -> None:
        if act == "install":
            self.install(self.components[which], what, now)
        elif act == "remove":
            self.remove(self.components[which], now)
        elif act == "fly":
            self.fly(self.fleet[which], now + timedelta(minutes=10), what)
        else:
            self.fly(self.fleet[which], now - what * HOUR + timedelta(minutes=10), 20)

    def install(self, component: Component, what: int, now: datetime) -> None:
        into: list[Place] = [*self.fleet] if component in self.engines else [*self.engines]
        position = self.hangar.bay if component in self.engines else self.hangar.drive
        place = into[what]
        if self.model.place_at(component, now) or self.model.taken(place, now):
            with pytest.raises(Conflict):
                installed(component, place, position, at=now)
        else:
            installed(component, place, position, at=now)
            self.model.stays.append([component, place, now, None])

    def remove(self, component: Component, now: datetime) -> None:
        if self.model.place_at(component, now) is None:
            with pytest.raises(Conflict):
                removed(component, at=now)
        else:
            removed(component, at=now)
            next(one for one in self.model.stays if one[0] == component and one[3] is None)[3] = now

    def fly(self, aircraft: Aircraft, takeoff: datetime, minutes: int) -> None:
        if any(one == aircraft and at == takeoff for one, at, _ in self.model.flights):
            return
        flown(aircraft, takeoff, minutes)
        self.model.flights.append((aircraft, takeoff, minutes))

    def check(self, instants: list[datetime]) -> None:
        totals = life.totals_of(self.components)
        spans = life.spans_of([one.id for one in self.components])
        for one in self.components:
            expected = BROUGHT + self.model.minutes(one)
            assert totals[one.id]["airframe_minutes"] == expected
            measured = life.metered(spans[one.id])
            assert expected == BROUGHT + sum(part.flown["airframe_minutes"] for part in measured)
        for instant in instants:
            self.check_places(instant)

    def check_places(self, instant: datetime) -> None:
        """History both ways: from the aircraft, and from the component."""
        inside = life.installed_in([one.id for one in self.fleet], instant)
        for aircraft in self.fleet:
            expected = {one.id for one in self.components if self.model.aircraft_at(one, instant) == aircraft}
            assert {row.component_id for row in inside[aircraft.id]} == expected
        spans = life.spans_of([one.id for one in self.components])
        for one in self.components:
            there = [
                span.aircraft_id
                for span in spans[one.id]
                if span.since <= instant and (span.until is None or instant < span.until)
            ]
            home = self.model.aircraft_at(one, instant)
            assert there == ([home.id] if home else [])


@pytest.fixture
def hangar() -> Hangar:
    return a_hangar()


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sequence=st.lists(steps, min_size=4, max_size=14))
def test_total_time_is_the_sum_over_installations(hangar: Hangar, sequence: list[tuple[str, int, int]]) -> None:
    """TSN = TSN0 + sum(out - in) (computations 4), for nested components too, and whatever the order of entry."""
    with taken_back():
        brought = NEW | {"airframe_minutes": BROUGHT}
        engines = [hangar.engine(brought_forward=brought) for _ in range(2)]
        magnetos = [hangar.magneto(brought_forward=brought) for _ in range(2)]
        play = Play(hangar, engines, magnetos)
        instants = [on(3, 6) + number * HOUR for number in range(len(sequence))]
        for (act, which, what), now in zip(sequence, instants, strict=True):
            play.step(act, which, what, now)
        play.check([*instants, instants[-1] + HOUR])
