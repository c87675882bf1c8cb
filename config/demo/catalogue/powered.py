"""Catalogues of the aircraft that take off with an engine in the nose."""

from decimal import Decimal
from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Side, Zone

Items = tuple[ItemSpec, ...]
cockpit = partial(ItemSpec, zone=Zone.COCKPIT)
engine = partial(ItemSpec, zone=Zone.ENGINE)
tail = partial(ItemSpec, zone=Zone.TAIL)


def _tyre(side: Side, minimum: str, maximum: str) -> ItemSpec:
    return ItemSpec(
        code=f"main-tyre-{side}-pressure",
        title=f"{side.label} main wheel: tyre pressure",
        zone=Zone.GEAR,
        side=side,
        quantity="pressure",
        unit="bar",
        minimum=Decimal(minimum),
        maximum=Decimal(maximum),
        system_code="3244",
    )


def _gear(side: Side) -> ItemSpec:
    return ItemSpec(
        code=f"main-gear-{side}",
        title=f"{side.label} main wheel: leg, axle, brake",
        zone=Zone.GEAR,
        side=side,
        critical=True,
        structure=True,
        system_code="3213",
    )


def _wing(side: Side) -> Items:
    wing = partial(ItemSpec, zone=Zone.WING, side=side)
    stations = (
        wing(
            code=f"wing-{side}-skin",
            title=f"{side.label} wing: skin and tip",
            deferrable=True,
            structure=True,
            system_code="5730",
        ),
        wing(
            code=f"wing-{side}-attachment",
            title=f"{side.label} wing: attachment and struts",
            critical=True,
            structure=True,
            system_code="5740",
        ),
        wing(
            code=f"wing-{side}-aileron",
            title=f"{side.label} wing: aileron, hinges and linkage",
            critical=True,
            structure=True,
            system_code="2710",
        ),
    )
    return stations if side == Side.LEFT else stations[::-1]


COCKPIT = (
    cockpit(
        code="switches-off",
        title="Master switch and magnetos off, key out",
        critical=True,
        caution="With a magneto on, a hand on the propeller can start the engine.",
        system_code="7414",
    ),
    cockpit(code="papers", title="Flight manual, certificates and log on board"),
    cockpit(code="harnesses", title="Harnesses and seat rails", structure=True, system_code="2510"),
    cockpit(
        code="controls-free",
        title="Stick, pedals and trim reach every stop",
        critical=True,
        structure=True,
        system_code="2700",
    ),
    cockpit(code="radio", title="Radio answers on the field frequency", deferrable=True, system_code="2312"),
    cockpit(code="landing-light", title="Landing and position lights burn", deferrable=True),
    cockpit(
        code="fuel-amount",
        title="Fuel in the tanks, by dipstick",
        quantity="volume",
        unit="L",
        minimum=Decimal(20),
        maximum=Decimal(96),
        system_code="1210",
    ),
)
TAIL = (
    tail(code="tail-surfaces", title="Tail surfaces: skin and fittings", structure=True, system_code="5510"),
    tail(
        code="elevator",
        title="Elevator: hinges, linkage, full travel",
        critical=True,
        structure=True,
        system_code="2730",
    ),
    tail(code="rudder", title="Rudder: hinges, cables, full travel", critical=True, structure=True, system_code="2720"),
    ItemSpec(
        code="tail-wheel",
        title="Tail wheel: tyre, spring, steering",
        zone=Zone.GEAR,
        structure=True,
        system_code="3270",
    ),
)
ENGINE = (
    engine(
        code="oil-amount",
        title="Engine oil, by dipstick",
        quantity="volume",
        unit="L",
        minimum=Decimal("3.5"),
        maximum=Decimal("5.5"),
        system_code="1220",
    ),
    engine(
        code="fuel-drained", title="Sample from every drain: no water, right colour", critical=True, system_code="2810"
    ),
    engine(code="engine-bay", title="Engine bay: no leaks, plugs and leads seated, exhaust whole", system_code="7421"),
    engine(code="engine-mount", title="Engine mount without cracks", critical=True, structure=True, system_code="7120"),
    engine(code="cowling", title="Cowling shut, every fastener turned", system_code="7110"),
    engine(
        code="propeller",
        title="Propeller: edges, tips, hub, spinner",
        critical=True,
        structure=True,
        caution="Stay out of the propeller's circle as if the engine were running.",
        system_code="6111",
    ),
)
PROBE = ItemSpec(
    code="pitot-static",
    title="Pitot tube and static ports open",
    zone=Zone.WING,
    side=Side.LEFT,
    critical=True,
    system_code="3411",
)
TOW_HOOK = tail(
    code="tow-hook", title="Tow hook: clean, opens by the handle, snaps shut", critical=True, system_code="5301"
)
TOW_MIRROR = cockpit(
    code="tow-mirror", title="Tow mirror shows the whole sailplane", deferrable=True, system_code="2510"
)
AIRBRAKES = ItemSpec(
    code="airbrakes",
    title="Airbrakes extend alike and lock even with the skin",
    zone=Zone.WING,
    side=Side.BOTH,
    critical=True,
    structure=True,
    system_code="2760",
)


def _walk(*, tyres: tuple[str, str], in_the_cockpit: Items = (), between_wings: Items = ()) -> Items:
    return (
        *COCKPIT,
        *in_the_cockpit,
        _gear(Side.LEFT),
        _tyre(Side.LEFT, *tyres),
        *_wing(Side.LEFT),
        PROBE,
        *TAIL,
        *between_wings,
        *_wing(Side.RIGHT),
        _gear(Side.RIGHT),
        _tyre(Side.RIGHT, *tyres),
        *ENGINE,
    )


MOTOR_GLIDER = _walk(tyres=("1.9", "2.3"), in_the_cockpit=(AIRBRAKES,))
TOW_PLANE = _walk(tyres=("1.6", "2.0"), in_the_cockpit=(TOW_MIRROR,), between_wings=(TOW_HOOK,))
