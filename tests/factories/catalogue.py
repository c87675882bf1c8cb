"""Aircraft types with a small catalogue that has one item of every sort."""

from decimal import Decimal
from typing import Any

from factory.declarations import LazyAttribute, Sequence, SubFactory

from fleet.models import AircraftCategory, AircraftType, Club, Item, Side, Zone
from fleet.services import register
from tests.factories.base import ServiceFactory
from tests.factories.clubs import ClubFactory, keeper_of
from tests.factories.constants import FOUNDED

CRITICAL = "main-pin-left"
TWO_PERSON = "aileron-check"  # critical as well
MEASURED = "main-tyre-pressure"  # 3.0 to 3.6 bar; deferrable
BALLAST = "tail-tank"
PLAIN = "sealing-tape"  # not critical, deferrable


class AircraftTypeFactory(ServiceFactory[AircraftType]):
    """A type without catalogue: ``AircraftTypeFactory(club=club)``. With catalogue and sheets: ``make_type``."""

    class Meta:
        model = AircraftType

    club = SubFactory(ClubFactory)
    at = FOUNDED
    designation = Sequence(lambda n: f"Kite {n}")
    manufacturer = "Invented Works"
    category = AircraftCategory.SAILPLANE
    seats = 2

    @classmethod
    def _create(cls, model_class: type[AircraftType], *args: Any, **kwargs: Any) -> AircraftType:
        return register.add_type(by=keeper_of(kwargs.pop("club")), **kwargs)


class ItemFactory(ServiceFactory[Item]):
    """An item: ``ItemFactory(aircraft_type=..., critical=True)``; ``measured=True`` adds limits, ``ballast=True`` an amount."""

    class Meta:
        model = Item

    class Params:
        measured = False

    aircraft_type = SubFactory(AircraftTypeFactory)
    at = FOUNDED
    code = Sequence(lambda n: f"item-{n}")
    title = LazyAttribute(lambda item: item.code.replace("-", " ").capitalize())
    zone = Zone.GENERAL
    side = Side.CENTRE
    critical = False
    deferrable = LazyAttribute(lambda item: not item.critical)
    two_person = False
    ballast = False
    quantity = LazyAttribute(lambda item: "pressure" if item.measured else "amount" if item.ballast else "")
    unit = LazyAttribute(lambda item: "bar" if item.measured else "L" if item.ballast else "")
    minimum = LazyAttribute(lambda item: Decimal("3.0") if item.measured else None)
    maximum = LazyAttribute(lambda item: Decimal("3.6") if item.measured else None)
    system_code = ""

    @classmethod
    def _create(cls, model_class: type[Item], *args: Any, **kwargs: Any) -> Item:
        return register.add_item(by=keeper_of(kwargs["aircraft_type"].club), **kwargs)


def make_type(club: Club, *, ballast: bool = False, **fields: Any) -> AircraftType:
    """A type with the items named above (``BALLAST`` only if asked for)."""
    aircraft_type = AircraftTypeFactory.create(club=club, **fields)
    ItemFactory.create(aircraft_type=aircraft_type, code=CRITICAL, zone=Zone.COCKPIT, side=Side.LEFT, critical=True)
    ItemFactory.create(
        aircraft_type=aircraft_type, code=TWO_PERSON, zone=Zone.WING, side=Side.BOTH, critical=True, two_person=True
    )
    ItemFactory.create(aircraft_type=aircraft_type, code=MEASURED, zone=Zone.GEAR, measured=True)
    ItemFactory.create(aircraft_type=aircraft_type, code=PLAIN, zone=Zone.WING, side=Side.BOTH)
    if ballast:
        ItemFactory.create(aircraft_type=aircraft_type, code=BALLAST, zone=Zone.BALLAST, ballast=True)
    return aircraft_type
