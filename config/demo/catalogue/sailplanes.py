"""Catalogues of the sailplanes: the full one, and what the simpler types have of it."""

from decimal import Decimal

from config.demo.catalogue.cockpit import COCKPIT, DEEP_COCKPIT
from config.demo.catalogue.engine import ENGINE
from config.demo.catalogue.fuselage import FUSELAGE, NOSE
from config.demo.catalogue.gear import GEAR
from config.demo.catalogue.spec import pick
from config.demo.catalogue.tail import DEEP_TAIL, TAIL
from config.demo.catalogue.wing import MIXING, WING_ROOTS, wing
from fleet.models import Side

FULL = (
    *COCKPIT,
    *DEEP_COCKPIT,
    *ENGINE,
    *GEAR,
    *wing(Side.LEFT),
    MIXING,
    WING_ROOTS,
    *FUSELAGE,
    *TAIL,
    *DEEP_TAIL,
    *wing(Side.RIGHT),
    *NOSE,
)
_EVERY_SAILPLANE = {
    "canopy-glass",
    "canopy-locks",
    "main-pin-left",
    "main-pin-right",
    "loose-objects-front",
    "harnesses",
    "instruments",
    "radio",
    "controls-free",
    "airbrake-lever",
    "tow-release",
    "main-tyre-pressure",
    "gear-struts",
    "wing-left-spar",
    "wing-left-lower-skin",
    "wing-left-aileron-deflection",
    "wing-left-connections",
    "fuselage-underside",
    "tailplane-bolt",
    "elevator-connection",
    "elevator-deflection",
    "rudder-hinges",
    "rudder-deflection",
    "wing-right-connections",
    "wing-right-aileron-deflection",
    "wing-right-lower-skin",
    "wing-right-spar",
    "nose-skin",
}
TRAINER = pick(
    FULL,
    _EVERY_SAILPLANE | {"loose-objects-rear", "wing-left-aileron-hinges", "wing-right-aileron-hinges"},
    main_tyre_pressure={"minimum": Decimal("2.4"), "maximum": Decimal("2.8")},
)
SINGLE_SEATER = pick(
    FULL,
    _EVERY_SAILPLANE | {"gear-locked", "wing-left-sealing-tape", "wing-right-sealing-tape"},
    main_tyre_pressure={"minimum": Decimal("2.8"), "maximum": Decimal("3.1")},
)
