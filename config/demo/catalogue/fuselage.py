"""Fuselage, and the nose with which the walk ends."""

from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Side, Zone

item = partial(ItemSpec, zone=Zone.FUSELAGE)
critical = partial(item, critical=True)
nose = partial(ItemSpec, zone=Zone.NOSE)


def _static_ports(side: Side) -> ItemSpec:
    return critical(
        code=f"static-ports-{side}",
        title=f"Two static ports on the {side} open and clean",
        side=side,
        caution="Wipe, never blow: breath can ruin the instruments.",
        system_code="3411",
    )


FUSELAGE = (
    item(
        code="fuselage-skin",
        title="Fuselage and tail boom: skin without cracks, dents or ripples",
        structure=True,
        system_code="5300",
    ),
    item(
        code="fuselage-underside",
        title="Belly, from the nose to the tail wheel",
        structure=True,
        handling_note="Lie down for it, or use a mirror.",
        system_code="5300",
    ),
    critical(
        code="dolly-area",
        title="Where the tail dolly clamps: no cracks round the boom",
        structure=True,
        handling_note="Take the dolly off to look.",
        system_code="5300",
    ),
    _static_ports(Side.LEFT),
    _static_ports(Side.RIGHT),
)
NOSE = (
    nose(code="nose-skin", title="Nose: skin, ventilation inlet", structure=True, system_code="5300"),
    nose(
        code="tow-hooks",
        title="Tow hooks under nose and belly: clean, springs strong, mouth shut",
        critical=True,
        system_code="5301",
    ),
    nose(
        code="covers-removed",
        title="Covers, plugs, locks and dollies taken off and stowed",
        critical=True,
        system_code="2770",
    ),
)
