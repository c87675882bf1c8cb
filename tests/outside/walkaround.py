"""A walkaround of a two-seat glider as catalogue and route. Common practice, no source; its numbers are check values.

The route begins in the cockpit, goes counter-clockwise round the aircraft, left wing first, and ends at the nose. The
left wing is described once, and the right wing mirrors it.
"""

from decimal import Decimal
from typing import Any

from fleet.models import Aircraft, AircraftType
from inspections.models import Sheet
from tests.factories import AircraftTypeFactory, ClubFactory, MemberFactory, make_aircraft, publish_sheet
from tests.factories.catalogue import ItemFactory

Words = dict[str, Any]

MAIN_TYRE_BAR = Decimal("4")
TAIL_TYRE_BAR = Decimal("2.5")
FIXED_BALLAST_KG = Decimal("8")
TAIL_WATER_L = Decimal("8")  # at most
WING_WATER_PER_TAIL_WATER = 25  # one litre in the tail balances so many in the wings
TOLERANCE_BAR = Decimal("0.1")

CRITICAL: Words = {"critical": True, "deferrable": False}
TOGETHER: Words = {"two_person": True} | CRITICAL


def tyre(nominal: Decimal) -> Words:
    limits = {"minimum": nominal - TOLERANCE_BAR, "maximum": nominal + TOLERANCE_BAR}
    return {"quantity": "pressure", "unit": "bar", **limits}


def ballast(quantity: str, unit: str, maximum: Decimal) -> Words:
    return {"ballast": True, "quantity": quantity, "unit": unit, "minimum": Decimal(0), "maximum": maximum}


COCKPIT: dict[str, Words] = {
    "switches-off": {"caution": "Main, engine and ignition switches off before anything is touched."},
    "canopy-cracks": {},
    "canopy-clean": {},
    "wing-pin-left": {"side": "left", **CRITICAL},
    "wing-pin-right": {"side": "right", **CRITICAL},
    "instrument-panel": {"caution": "Lift it by its stiff lower edge only."},
    "loose-objects": {"handling_note": "Also under the rear seat and round the pedals.", **CRITICAL},
    "controls-free": CRITICAL,
    "batteries": {"handling_note": "Secured first, then plugged in."},
    "trim": {"handling_note": "Both ways, at both seats; can be disconnected."},
    "tow-release": {"handling_note": "At both seats.", **CRITICAL},
    "canopy-locked": {"caution": "Closed and locked whenever nobody is at it: wind.", **CRITICAL},
}
GEAR: dict[str, Words] = {
    "main-tyre": tyre(MAIN_TYRE_BAR),
    "brake-fluid": {"handling_note": "No leak on the floor."},
    "wheel-brake": {"handling_note": "Holds with the airbrake lever.", **CRITICAL},
    "gear-locked": {"handling_note": "Down, locked, and its indicator says so.", **CRITICAL},
}
WING: dict[str, Words] = {
    "shell-top": {"handling_note": "Scratches, cracks, delamination, deformation."},
    "shell-underside-outer": {"handling_note": "Above all after landings.", **CRITICAL},
    "tip-wheel": {},
    "winglet": {},
    "leading-edge": {"handling_note": "One straight line: it shows cracks early."},
    "panel-joint": {"handling_note": "Pins aligned, lock flush with the profile, pull test.", **CRITICAL},
    "aileron-check": {"handling_note": "Left, right, neutral.", **TOGETHER},
    "flap-check": {"handling_note": "Negative, zero, positive; mixing works.", **TOGETHER},
    "aileron-play": {"handling_note": "A little is normal. Feel it at the linkage: the edge only deforms.", **TOGETHER},
    "control-connection": {"handling_note": "Through the inspection window.", **CRITICAL},
    "sealing-tape": {"handling_note": "Standing up it costs performance, nothing else."},
}
FUSELAGE: dict[str, Words] = {
    "underside": {},
    "tail-dolly-area": {"handling_note": "Cracks.", **CRITICAL},
    "static-ports": {"handling_note": "Four, all free.", **CRITICAL},
}
TAIL: dict[str, Words] = {
    "tailplane-bolt": CRITICAL,
    "elevator-connected": CRITICAL,
    "multi-probe": {},
    "trailing-edge": {"handling_note": "Straight."},
    "rudder": {"handling_note": "Damage by the tow-out gear.", **CRITICAL},
    "rudder-hinges": {"handling_note": "Fittings, and the bolt secured.", **CRITICAL},
    "rudder-cable-left": {"side": "left", **CRITICAL},
    "rudder-cable-right": {"side": "right", **CRITICAL},
    "elevator-play": TOGETHER,
    "rudder-play": {"handling_note": "Hold it near its drive: held at the top it twists.", **TOGETHER},
    "tail-tyre": tyre(TAIL_TYRE_BAR),
}
BALLAST: dict[str, Words] = {
    "fixed-tail-ballast": {
        "caution": "Fitted for two-up flying, it comes out before solo flight.",
        **ballast("mass", "kg", FIXED_BALLAST_KG),
    },
    "tail-tank": {"handling_note": "Amount not known: drain it.", **ballast("volume", "L", TAIL_WATER_L)},
    "wing-tanks": ballast("volume", "L", TAIL_WATER_L * WING_WATER_PER_TAIL_WATER),
    "dump-outlets": {"handling_note": "Free of mud."},
}
NOSE: dict[str, Words] = {"nose-hook": CRITICAL, "ventilation-inlet": {}}


def side_of(side: str) -> dict[str, Words]:
    """One wing."""
    return {f"{side}-{code}": {"side": side, **words} for code, words in WING.items()}


ROUTE: list[tuple[str, dict[str, Words]]] = [
    ("cockpit", COCKPIT),
    ("gear", GEAR),
    ("wing", side_of("left")),
    ("fuselage", FUSELAGE),
    ("tail", TAIL),
    ("ballast", BALLAST),
    ("wing", side_of("right")),
    ("nose", NOSE),
]


def catalogue_of(aircraft_type: AircraftType) -> list[str]:
    """Add every item; the codes in the order of the route."""
    codes = []
    for zone, items in ROUTE:
        for code, words in items.items():
            defaults: Words = {"zone": zone, "critical": False, "deferrable": not words.get("critical", False)}
            ItemFactory.create(aircraft_type=aircraft_type, code=code, **defaults | words)
            codes.append(code)
    return codes


def build() -> None:
    """A two-seater that is walked round by this route, and two pilots."""
    club = ClubFactory.create()
    aircraft_type = AircraftTypeFactory.create(club=club, seats=2)
    publish_sheet(aircraft_type, codes=catalogue_of(aircraft_type))
    make_aircraft(club, aircraft_type=aircraft_type)
    for username in ("first", "other"):
        MemberFactory.create(club=club, username=username)


def sheet_of(aircraft: Aircraft) -> Sheet:
    """The route."""
    return Sheet.objects.get(aircraft_type=aircraft.aircraft_type)
