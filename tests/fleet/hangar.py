"""Two aircraft whose usage is recorded, of a type that takes an engine, which takes a magneto."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from fleet.models import Aircraft, Component, ComponentKind, Position
from tests.factories import ClubFactory, MemberFactory, make_aircraft, make_component, make_kind, make_position
from tests.fleet.flying import opened
from tests.scenes import scene


def on(day: int, hour: int = 8, minute: int = 0) -> datetime:
    """Of March 2025, in UTC; an hour later in the club's zone."""
    return datetime(2025, 3, day, hour, minute, tzinfo=UTC)


@dataclass(frozen=True)
class Hangar:
    """What is there at the beginning: nothing is installed."""

    one: Aircraft
    other: Aircraft
    engine_kind: ComponentKind
    magneto_kind: ComponentKind
    bay: Position
    drive: Position

    def engine(self, **fields: Any) -> Component:
        return make_component(self.engine_kind, **fields)

    def magneto(self, **fields: Any) -> Component:
        return make_component(self.magneto_kind, **fields)


def _build() -> None:
    club = ClubFactory.create()
    MemberFactory.create(club=club)
    one = make_aircraft(club)
    make_aircraft(club, aircraft_type=one.aircraft_type)
    engine, magneto = make_kind(club, designation="Engine"), make_kind(club, designation="Magneto")
    make_position(one.aircraft_type, engine, code="bay", title="Engine bay")
    make_position(engine, magneto, code="drive", title="Magneto drive")
    for aircraft in Aircraft.objects.all():
        opened(aircraft, airframe_minutes=60_000, launches=5_000)


def a_hangar() -> Hangar:
    """Ask for it before anything else is stored."""
    scene("a hangar", _build)
    one, other = Aircraft.objects.select_related("club", "aircraft_type").order_by("serial_number")
    kinds = {kind.designation: kind for kind in ComponentKind.objects.select_related("club")}
    positions = {position.code: position for position in Position.objects.all()}
    return Hangar(one, other, kinds["Engine"], kinds["Magneto"], positions["bay"], positions["drive"])
