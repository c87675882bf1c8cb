"""What a full walkaround must be able to express: common practice, no source."""

from dataclasses import dataclass
from decimal import Decimal

import pytest

from config.demo.catalogue.spec import ItemSpec
from config.demo.catalogue.types import MERROW_TWO
from fleet.models import Side, Zone
from inspections.models import Outcome
from inspections.services.lines import Sent
from tests import factories
from tests.demo.conftest import Demo

ITEMS = {item.code: item for item in MERROW_TWO.catalogue if not item.deep}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """One thing to look at; None: either way."""

    codes: str  # separated by blanks
    zone: Zone
    critical: bool | None = None
    two_person: bool = False
    measured: str = ""  # unit
    ballast: bool = False
    caution: bool = False
    note: bool = False
    deferrable: bool | None = None


def pair(code: str) -> str:
    return f"{code.format('left')} {code.format('right')}"


COVERED = {
    "canopy cracks and cleanliness": Ground(codes="canopy-glass", zone=Zone.COCKPIT),
    "canopy shut and locked when nobody is there, its pins engage": Ground(
        codes="canopy-locks", zone=Zone.COCKPIT, critical=True, caution=True
    ),
    "both main pins installed and locked": Ground(codes=pair("main-pin-{}"), zone=Zone.COCKPIT, critical=True),
    "loose objects, also at the pedals and under the rear seat": Ground(
        codes="loose-objects-front loose-objects-rear", zone=Zone.COCKPIT, critical=True
    ),
    "where to take hold of the instrument panel": Ground(codes="panel-cover", zone=Zone.COCKPIT, caution=True),
    "controls free": Ground(codes="controls-free", zone=Zone.COCKPIT, critical=True),
    "switches off before anything is touched": Ground(
        codes="switches-off", zone=Zone.COCKPIT, critical=True, caution=True
    ),
    "batteries secured, then plugged in": Ground(codes="battery-secured", zone=Zone.COCKPIT, caution=True),
    "trim both ways, and it lets go": Ground(codes="trim-travel trim-release", zone=Zone.COCKPIT),
    "tow release at every seat": Ground(codes="tow-release", zone=Zone.COCKPIT, critical=True),
    "main tyre pressure": Ground(codes="main-tyre-pressure", zone=Zone.GEAR, measured="bar"),
    "brake fluid on the floor": Ground(codes="brake-leak", zone=Zone.GEAR),
    "brake holds with the airbrake lever": Ground(codes="brake-holds", zone=Zone.GEAR),
    "gear down and locked": Ground(codes="gear-locked", zone=Zone.GEAR, critical=True),
    "shell above": Ground(codes=pair("wing-{}-upper-skin"), zone=Zone.WING),
    "shell below, outboard after landings": Ground(codes=pair("wing-{}-lower-skin"), zone=Zone.WING, note=True),
    "wing-tip wheel": Ground(codes=pair("wing-{}-tip-wheel"), zone=Zone.WING),
    "winglet": Ground(codes=pair("wing-{}-winglet"), zone=Zone.WING),
    "leading edge in one line": Ground(codes=pair("wing-{}-leading-edge"), zone=Zone.WING, note=True),
    "panel joint": Ground(codes=pair("wing-{}-joint"), zone=Zone.WING, critical=True),
    "pull at the panel joint": Ground(codes=pair("wing-{}-joint-pull"), zone=Zone.WING, critical=True),
    "aileron with a second person": Ground(
        codes=pair("wing-{}-aileron-deflection"), zone=Zone.WING, critical=True, two_person=True
    ),
    "flaps with a second person": Ground(
        codes=pair("wing-{}-flap-deflection"), zone=Zone.WING, critical=True, two_person=True
    ),
    "flaps and ailerons mixed": Ground(codes="flap-aileron-mixing", zone=Zone.WING, two_person=True),
    "play, and where to feel it": Ground(
        codes=pair("wing-{}-aileron-play"), zone=Zone.WING, two_person=True, note=True
    ),
    "control connections through the window": Ground(codes=pair("wing-{}-connections"), zone=Zone.WING, critical=True),
    "gap tape never grounds": Ground(
        codes=pair("wing-{}-sealing-tape"), zone=Zone.WING, critical=False, deferrable=True, note=True
    ),
    "belly": Ground(codes="fuselage-underside", zone=Zone.FUSELAGE),
    "cracks where the tail dolly sits": Ground(codes="dolly-area", zone=Zone.FUSELAGE),
    "four static ports, two a side": Ground(codes=pair("static-ports-{}"), zone=Zone.FUSELAGE),
    "tailplane bolt": Ground(codes="tailplane-bolt", zone=Zone.TAIL, critical=True),
    "elevator connected": Ground(codes="elevator-connection", zone=Zone.TAIL, critical=True),
    "probe": Ground(codes="multi-probe", zone=Zone.TAIL),
    "trailing edge straight": Ground(codes="tailplane-edge", zone=Zone.TAIL),
    "rudder struck by ground gear": Ground(codes="rudder-skin", zone=Zone.TAIL),
    "rudder hinges and bolt": Ground(codes="rudder-hinges rudder-bolt", zone=Zone.TAIL, critical=True),
    "rudder cable on both sides": Ground(codes=pair("rudder-cable-{}"), zone=Zone.TAIL, critical=True),
    "elevator play with a second person": Ground(codes="elevator-play", zone=Zone.TAIL, two_person=True),
    "rudder play, held low": Ground(codes="rudder-play", zone=Zone.TAIL, two_person=True, note=True),
    "tail tyre pressure": Ground(codes="tail-tyre-pressure", zone=Zone.GEAR, measured="bar"),
    "fixed tail ballast out before solo": Ground(
        codes="tail-weight", zone=Zone.BALLAST, measured="kg", ballast=True, caution=True
    ),
    "tail water, its ratio, drain if unknown": Ground(
        codes="tail-water", zone=Zone.BALLAST, measured="L", ballast=True, note=True
    ),
    "wing water": Ground(codes=pair("wing-{}-water"), zone=Zone.BALLAST, measured="L", ballast=True),
    "outlets free of mud": Ground(codes=f"tail-outlet {pair('wing-{}-outlet')}", zone=Zone.BALLAST),
}


def shape(item: ItemSpec) -> tuple[Zone, bool, str, bool]:
    return item.zone, item.two_person, item.unit, item.ballast


@pytest.mark.parametrize("ground", COVERED.values(), ids=COVERED.keys())
def test_the_full_sheet_covers(ground: Ground) -> None:
    for item in (ITEMS[code] for code in ground.codes.split()):
        assert shape(item) == (ground.zone, ground.two_person, ground.measured, ground.ballast)
        assert ground.critical in (None, item.critical)
        assert ground.deferrable in (None, item.deferrable)
        assert bool(item.caution) or not ground.caution
        assert bool(item.handling_note) or not ground.note


@pytest.mark.parametrize("ground", [one for one in COVERED.values() if "left" in one.codes], ids=lambda one: one.codes)
def test_a_pair_has_a_left_and_a_right(ground: Ground) -> None:
    sides = {ITEMS[code].side for code in ground.codes.split() if "left" in code or "right" in code}
    assert sides == {Side.LEFT, Side.RIGHT}


def test_the_published_sheet_says_what_the_catalogue_says(demo: Demo) -> None:
    sheet = demo.aircraft("ZZ-K01").aircraft_type.sheets.get(kind="daily")
    lines = list(sheet.lines.order_by("position"))
    assert [line.code for line in lines] == list(ITEMS)
    for line in lines:
        wanted = ITEMS[line.code].fields()
        assert {name: getattr(line, name) for name in wanted} == wanted


# Numbers of common practice, no source: a main tyre at 4 bar, a tail tyre at 2.5 bar, 8 kg of fixed tail ballast for
# two, a tail tank of at most 8 litres.
MEASURED = [
    ("bar", "4", "4", "4", "bar", Outcome.SATISFACTORY),
    ("bar", "4", "4", "400", "kPa", Outcome.SATISFACTORY),
    ("bar", "4", "4", "3.9", "bar", Outcome.DEFECT),
    ("bar", "2.5", "2.5", "2.5", "bar", Outcome.SATISFACTORY),
    ("bar", "2.5", "2.5", "2.6", "bar", Outcome.DEFECT),
    ("kg", "0", "8", "8", "kg", Outcome.SATISFACTORY),
    ("kg", "0", "8", "0", "kg", Outcome.SATISFACTORY),
    ("L", "0", "8", "8", "L", Outcome.SATISFACTORY),
    ("L", "0", "8", "8.1", "L", Outcome.DEFECT),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("unit", "minimum", "maximum", "value", "sent_unit", "outcome"), MEASURED)
def test_a_line_holds_a_measured_value_with_its_limits(
    unit: str, minimum: str, maximum: str, value: str, sent_unit: str, outcome: Outcome
) -> None:
    aircraft_type = factories.AircraftTypeFactory.create()
    factories.ItemFactory.create(
        aircraft_type=aircraft_type,
        code="measured",
        quantity="amount",
        unit=unit,
        minimum=Decimal(minimum),
        maximum=Decimal(maximum),
        ballast=unit in ("kg", "L"),
    )
    aircraft = factories.make_aircraft(aircraft_type.club, aircraft_type=aircraft_type)
    sent = Sent(item="measured", outcome=Outcome.SATISFACTORY, value=Decimal(value), unit=sent_unit)
    recorded = factories.inspect(aircraft, results=[sent])
    assert recorded.inspection.complete
    assert [one.outcome for one in recorded.inspection.results.all()] == [outcome]
    assert len(recorded.defects) == (outcome == Outcome.DEFECT)
