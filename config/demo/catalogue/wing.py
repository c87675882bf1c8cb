"""One wing, described once: from the root along the leading edge to the tip, and back along the trailing edge."""

from decimal import Decimal
from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Side, Zone


def _shell(side: Side) -> tuple[ItemSpec, ...]:
    item = partial(ItemSpec, zone=Zone.WING, side=side)
    critical = partial(item, critical=True)
    wing, name = f"wing-{side}", f"{side.label} wing"
    return (
        critical(
            code=f"{wing}-leading-edge",
            title=f"{name}: leading edge runs true from root to tip",
            structure=True,
            handling_note="Crouch at the root and look along it: a kink tells of damage below the paint.",
            system_code="5700",
        ),
        critical(
            code=f"{wing}-spar",
            title=f"{name}: skin over the spar, above and below, no cracks, dents or soft spots",
            structure=True,
            system_code="5711",
        ),
        item(
            code=f"{wing}-upper-skin",
            title=f"{name}: upper skin elsewhere, no scratches, cracks, blisters or dents",
            deferrable=True,
            system_code="5730",
        ),
        item(
            code=f"{wing}-lower-skin",
            title=f"{name}: lower skin elsewhere, no scratches, cracks, blisters or dents",
            deferrable=True,
            structure=True,
            handling_note="Kneel. Stubble and molehills strike the outboard half when a wing goes down on landing.",
            system_code="5730",
        ),
    )


def _outboard(side: Side) -> tuple[ItemSpec, ...]:
    item = partial(ItemSpec, zone=Zone.WING, side=side)
    critical = partial(item, critical=True)
    wing, name = f"wing-{side}", f"{side.label} wing"
    return (
        critical(
            code=f"{wing}-joint",
            title=f"{name}: outboard panel, pins in line with their marks and the lock even with the skin",
            rigging=True,
            structure=True,
            system_code="5740",
        ),
        critical(
            code=f"{wing}-joint-pull",
            title=f"{name}: outboard panel stays put when pulled outwards",
            rigging=True,
            handling_note="Pull with both hands at the rib, not at the winglet.",
            system_code="5740",
        ),
        critical(code=f"{wing}-winglet", title=f"{name}: winglet seated and locked", rigging=True, system_code="5700"),
        item(
            code=f"{wing}-tip-wheel",
            title=f"{name}: tip wheel screwed tight",
            deferrable=True,
            structure=True,
            system_code="3270",
        ),
    )


def _aileron(side: Side) -> tuple[ItemSpec, ...]:
    critical = partial(ItemSpec, zone=Zone.WING, side=side, critical=True)
    wing, name = f"wing-{side}", f"{side.label} wing"
    return (
        critical(
            code=f"{wing}-aileron-hinges", title=f"{name}: aileron hinges and drive", structure=True, system_code="5744"
        ),
        critical(
            code=f"{wing}-aileron-deflection",
            title=f"{name}: aileron follows the stick up, down and to the middle",
            two_person=True,
            rigging=True,
            structure=True,
            handling_note="One holds the surface lightly, the other moves the stick and calls what it should do.",
            system_code="2710",
        ),
        critical(
            code=f"{wing}-aileron-play",
            title=f"{name}: no more than slight play of the aileron with the stick held",
            two_person=True,
            structure=True,
            handling_note="Judge it where the rod meets the surface; at its thin edge you feel it bend instead.",
            system_code="2710",
        ),
    )


def _flap_and_airbrake(side: Side) -> tuple[ItemSpec, ...]:
    item = partial(ItemSpec, zone=Zone.WING, side=side)
    critical = partial(item, critical=True)
    wing, name = f"wing-{side}", f"{side.label} wing"
    return (
        critical(
            code=f"{wing}-flap-deflection",
            title=f"{name}: flap stands right in every gate, up, level and down",
            two_person=True,
            rigging=True,
            system_code="2750",
        ),
        critical(
            code=f"{wing}-airbrake",
            title=f"{name}: airbrake box empty and dry, blades whole, cover closes even with the skin",
            rigging=True,
            structure=True,
            system_code="2760",
        ),
        critical(
            code=f"{wing}-connections",
            title=f"{name}: control connections seen through the window, each closed and secured",
            rigging=True,
            structure=True,
            system_code="2710",
        ),
        item(
            code=f"{wing}-sealing-tape",
            title=f"{name}: gap tapes",
            deferrable=True,
            handling_note="A raised edge makes the aircraft slower, not unsafe. Replace it when there is time.",
            system_code="5730",
        ),
    )


def _water(side: Side) -> tuple[ItemSpec, ...]:
    item = partial(ItemSpec, zone=Zone.BALLAST, side=side)
    return (
        item(
            code=f"wing-{side}-outlet",
            title=f"{side.label} wing: water outlet and tank vent open, no mud in them",
        ),
        item(
            code=f"wing-{side}-water",
            title=f"{side.label} wing: water on board",
            ballast=True,
            quantity="volume",
            unit="L",
            minimum=Decimal(0),
            maximum=Decimal(54),
            handling_note="Nobody knows how much is in it? Empty it.",
        ),
    )


def wing(side: Side) -> tuple[ItemSpec, ...]:
    """The stations of one wing. Walked counter-clockwise, the right wing comes in the opposite order."""
    stations = (*_shell(side), *_outboard(side), *_aileron(side), *_flap_and_airbrake(side), *_water(side))
    return stations if side == Side.LEFT else stations[::-1]


MIXING = ItemSpec(
    code="flap-aileron-mixing",
    title="Ailerons droop and rise with the flaps, and still answer the stick",
    zone=Zone.WING,
    side=Side.BOTH,
    critical=True,
    two_person=True,
    rigging=True,
    system_code="2710",
)
WING_ROOTS = ItemSpec(
    code="wing-root-bores",
    title="Wings off: spar stubs, pin bores and root ribs",
    zone=Zone.WING,
    side=Side.BOTH,
    critical=True,
    deep=True,
    system_code="5741",
)
