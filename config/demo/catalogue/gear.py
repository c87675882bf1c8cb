"""Main wheel and brake."""

from decimal import Decimal
from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Zone

item = partial(ItemSpec, zone=Zone.GEAR)
critical = partial(item, critical=True)

GEAR = (
    item(
        code="main-tyre-pressure",
        title="Main wheel: tyre pressure",
        deferrable=False,
        quantity="pressure",
        unit="bar",
        minimum=Decimal("3.2"),
        maximum=Decimal("3.6"),
        system_code="3244",
    ),
    item(code="main-tyre", title="Main wheel: tread, side walls, slip mark, rim", structure=True, system_code="3244"),
    item(
        code="brake-leak",
        title="No brake fluid on the hangar floor or the wheel",
        handling_note="Look at the ground before the aircraft is moved.",
        system_code="3240",
    ),
    item(
        code="brake-holds",
        title="Wheel brake grips at the end of the airbrake lever's travel",
        handling_note="Somebody pulls the lever fully while you try to push.",
        system_code="3242",
    ),
    critical(
        code="gear-locked",
        title="Wheel down, struts past their dead point, lever and indicator say the same",
        structure=True,
        system_code="3230",
    ),
    critical(
        code="gear-struts",
        title="Struts, axle and box of the main wheel without bends or cracks",
        structure=True,
        system_code="3213",
    ),
    item(code="gear-doors", title="Wheel doors and their springs", deferrable=True, system_code="5280"),
)
