"""Where the walk begins."""

from decimal import Decimal
from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Side, Zone

item = partial(ItemSpec, zone=Zone.COCKPIT)
critical = partial(item, critical=True)
deferrable = partial(item, deferrable=True)


def _main_pin(side: Side) -> ItemSpec:
    return critical(
        code=f"main-pin-{side}",
        title=f"Main pin of the {side} wing pushed home, its catch closed",
        side=side,
        rigging=True,
        structure=True,
        handling_note="See it and feel it: the catch must not move when you press the pin from the other end.",
        system_code="5741",
    )


COCKPIT = (
    critical(
        code="switches-off",
        title="Every switch off: master, engine, ignition",
        caution="Look at the switches before you reach for anything else: a warm engine can fire by itself.",
        system_code="7420",
    ),
    item(code="papers", title="Flight manual, certificates and log on board"),
    deferrable(
        code="canopy-glass",
        title="Canopies free of cracks, clean, scratches not in the field of view",
        handling_note="Rinse before you wipe: dust scratches the glass.",
        system_code="5610",
    ),
    critical(
        code="canopy-locks",
        title="Canopy frames seat all round, lock pins travel fully into their plates",
        caution="An open canopy is a sail. Keep a hand on it, and leave the aircraft only with it shut and locked.",
        system_code="5210",
    ),
    critical(
        code="canopy-jettison", title="Emergency release of the canopies untouched and sealed", system_code="5220"
    ),
    _main_pin(Side.LEFT),
    _main_pin(Side.RIGHT),
    critical(
        code="loose-objects-front",
        title="Nothing lying about in front: footwell, around and behind the pedals",
        handling_note="Use a lamp and a flat hand; coins and pens roll forward when the tail comes up.",
        system_code="2510",
    ),
    critical(
        code="loose-objects-rear",
        title="Nothing lying about behind: below the rear seat, along the push rods, in the luggage tray",
        system_code="2510",
    ),
    item(
        code="harnesses",
        title="Harnesses: webbing, buckles, anchorages at every seat",
        structure=True,
        system_code="2510",
    ),
    item(
        code="panel-cover",
        title="Instrument panel latched, hoses and plugs behind it seated",
        caution="Swing the panel up with both hands at the reinforced rim below; its sides are thin and tear.",
        system_code="3110",
    ),
    item(
        code="instruments", title="Airspeed indicators at zero, altimeters agree with the airfield", system_code="3414"
    ),
    deferrable(code="radio", title="Radio answers on the field frequency", system_code="2312"),
    critical(
        code="battery-secured",
        title="Batteries strapped down, terminals covered",
        caution="Strap first, plug in afterwards.",
        system_code="2432",
    ),
    item(
        code="battery-voltage",
        title="Battery voltage with the master switch on",
        quantity="voltage",
        unit="V",
        minimum=Decimal("12.3"),
        maximum=Decimal("14.5"),
        system_code="2432",
    ),
    critical(
        code="controls-free",
        title="Sticks and pedals reach every stop, smoothly, with nothing rubbing",
        rigging=True,
        structure=True,
        system_code="2700",
    ),
    item(code="trim-travel", title="Trim runs nose-up and nose-down from either seat", system_code="2731"),
    item(
        code="trim-release",
        title="Trim lets go when its lever is pressed",
        handling_note="Afterwards the stick must rest wherever it is put.",
        system_code="2731",
    ),
    critical(
        code="airbrake-lever",
        title="Airbrake lever snaps over its dead point, same force at every seat",
        rigging=True,
        structure=True,
        system_code="2760",
    ),
    critical(
        code="flap-lever", title="Flap lever drops into each gate and stays there", rigging=True, system_code="2750"
    ),
    critical(
        code="tow-release",
        title="Tow release opens by the handle of every seat and snaps shut",
        handling_note="Try each handle with a ring under tension.",
        system_code="5301",
    ),
)
DEEP_COCKPIT = (
    critical(
        code="tow-release-force",
        title="Force at the tow release handle under load",
        deep=True,
        quantity="force",
        unit="N",
        minimum=Decimal("40"),
        maximum=Decimal("160"),
        system_code="5301",
    ),
    item(
        code="harness-life",
        title="Harness labels: made and overhauled inside their life",
        deep=True,
        system_code="2510",
    ),
)
