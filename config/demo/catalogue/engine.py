"""The retractable engine of the self-launching sailplane."""

from decimal import Decimal
from functools import partial

from config.demo.catalogue.spec import ItemSpec
from fleet.models import Zone

item = partial(ItemSpec, zone=Zone.ENGINE)
critical = partial(item, critical=True)

ENGINE = (
    critical(
        code="propeller-blades",
        title="Propeller: edges, tips and faces without nicks or cracks",
        caution="Stay out of the propeller's circle as if the engine were running.",
        system_code="6111",
    ),
    critical(
        code="propeller-bolts", title="Propeller hub: every bolt marked and the marks in line", system_code="6114"
    ),
    critical(
        code="engine-pylon",
        title="Engine pylon, its hinge and rubber mounts without cracks",
        structure=True,
        system_code="7120",
    ),
    critical(code="engine-stop-cable", title="Stop cable of the pylon whole, both ends secured", system_code="7120"),
    item(code="drive-belt", title="Drive belt: tension, teeth, no fraying", deferrable=True, system_code="8500"),
    critical(
        code="fuel-lines", title="Fuel hoses dry, clips tight, no chafing where the pylon folds", system_code="2820"
    ),
    critical(code="fuel-valve", title="Fuel valve opens and shuts", system_code="2823"),
    item(
        code="fuel-amount",
        title="Fuel in the tank, read at the sight tube",
        quantity="volume",
        unit="L",
        minimum=Decimal("5"),
        maximum=Decimal("21"),
        system_code="1210",
    ),
)
