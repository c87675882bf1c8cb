"""Fin, rudder, tailplane, elevator, tail wheel, and the ballast carried there."""

from decimal import Decimal
from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Side, Zone

item = partial(ItemSpec, zone=Zone.TAIL)
critical = partial(item, critical=True)
both_people = partial(critical, two_person=True)
ballast = partial(ItemSpec, zone=Zone.BALLAST)


def _rudder_cable(side: Side) -> ItemSpec:
    return critical(
        code=f"rudder-cable-{side}",
        title=f"{side.label} rudder cable: strands, thimble, shackle",
        side=side,
        system_code="2720",
    )


TAILPLANE = (
    critical(
        code="tailplane-bolt", title="Tailplane bolt tight and locked", rigging=True, structure=True, system_code="5551"
    ),
    critical(
        code="elevator-connection",
        title="Elevator coupled: move it, and a stick must move",
        rigging=True,
        structure=True,
        system_code="2730",
    ),
    item(code="tailplane-skin", title="Tailplane and elevator: skin, gap tapes", structure=True, system_code="5510"),
    item(
        code="tailplane-edge", title="Trailing edge of the elevator without waves", structure=True, system_code="5520"
    ),
    critical(code="elevator-hinges", title="Elevator hinges", structure=True, system_code="5552"),
    both_people(
        code="elevator-deflection",
        title="Elevator follows the stick both ways",
        rigging=True,
        structure=True,
        system_code="2730",
    ),
    both_people(
        code="elevator-play",
        title="No more than slight play of the elevator with the stick held",
        handling_note="Judge it next to the drive.",
        system_code="2730",
    ),
)
RUDDER = (
    item(
        code="rudder-skin",
        title="Rudder: skin and lower edge, which tow bars and dollies strike",
        structure=True,
        system_code="5540",
    ),
    critical(code="rudder-hinges", title="Rudder hinges and their fittings", structure=True, system_code="5554"),
    critical(code="rudder-bolt", title="Rudder bolt in place and locked", rigging=True, system_code="5554"),
    _rudder_cable(Side.LEFT),
    _rudder_cable(Side.RIGHT),
    both_people(
        code="rudder-deflection",
        title="Rudder follows the pedals to both stops",
        rigging=True,
        structure=True,
        system_code="2720",
    ),
    both_people(
        code="rudder-play",
        title="No more than slight play of the rudder with the pedals held",
        handling_note="Take hold low down, beside the drive. Higher up you only wring the surface.",
        system_code="2720",
    ),
)
FIN = (
    item(code="fin-skin", title="Fin: skin and joint with the boom", structure=True, system_code="5530"),
    critical(
        code="multi-probe",
        title="Combined probe on the fin pushed in to its mark, all holes open",
        rigging=True,
        system_code="3411",
    ),
)
TAIL_WHEEL = (
    ItemSpec(
        code="tail-tyre-pressure",
        title="Tail wheel: tyre pressure",
        zone=Zone.GEAR,
        quantity="pressure",
        unit="bar",
        minimum=Decimal("1.8"),
        maximum=Decimal("2.2"),
        system_code="3244",
    ),
    ItemSpec(
        code="tail-wheel", title="Tail wheel: tyre, fork, bearing", zone=Zone.GEAR, structure=True, system_code="3270"
    ),
)
TAIL_BALLAST = (
    ballast(
        code="tail-weight",
        title="Fixed weight in the fin: how much is fitted?",
        ballast=True,
        quantity="mass",
        unit="kg",
        minimum=Decimal(0),
        maximum=Decimal("5.6"),
        caution="It is there for two people. Before anybody flies alone it comes out: without the second person the"
        " centre of gravity lies too far back.",
    ),
    ballast(
        code="tail-water",
        title="Water in the fin tank",
        ballast=True,
        quantity="volume",
        unit="L",
        minimum=Decimal(0),
        maximum=Decimal("5.4"),
        handling_note="One litre here offsets twenty in the wings. Nobody knows how much is in it? Empty it.",
    ),
    ballast(code="tail-outlet", title="Outlet of the fin tank open, no mud in it"),
)
TAIL = (*FIN, *TAILPLANE, *RUDDER, *TAIL_WHEEL, *TAIL_BALLAST)
DEEP_TAIL = (
    critical(
        code="rudder-cable-tension",
        title="Rudder cables: tension with the pedals in the middle",
        deep=True,
        quantity="force",
        unit="N",
        minimum=Decimal(90),
        maximum=Decimal(130),
        system_code="2720",
    ),
)
