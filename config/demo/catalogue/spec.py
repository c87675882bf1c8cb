"""How an item of a demo catalogue is written down, and on which sheets it stands."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from fleet.models import INSPECTABLE_FIELDS, Side, Zone
from inspections.models import InspectionKind


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemSpec:
    """One item. It stands on the daily sheet unless ``deep``, and on every periodic one."""

    code: str
    title: str
    zone: Zone
    side: Side = Side.CENTRE
    critical: bool = False
    deferrable: bool = False
    two_person: bool = False
    ballast: bool = False
    quantity: str = ""
    unit: str = ""
    minimum: Decimal | None = None
    maximum: Decimal | None = None
    caution: str = ""
    handling_note: str = ""
    system_code: str = ""
    rigging: bool = False  # also looked at after rigging
    structure: bool = False  # also looked at after a heavy landing and the like
    deep: bool = False  # periodic inspections only

    def fields(self) -> dict[str, Any]:
        """What the catalogue stores."""
        return {name: getattr(self, name) for name in INSPECTABLE_FIELDS}


Catalogue = Sequence[ItemSpec]


def pick(catalogue: Catalogue, codes: Collection[str], **changed: Mapping[str, Any]) -> tuple[ItemSpec, ...]:
    """The items with these codes in their order; some with other numbers or words, by code with ``_`` for ``-``."""
    changes = {code.replace("_", "-"): change for code, change in changed.items()}
    unknown = (set(codes) | set(changes)) - {item.code for item in catalogue}
    if unknown:
        raise ValueError(f"not in the catalogue: {sorted(unknown)}")
    return tuple(replace(item, **changes.get(item.code, {})) for item in catalogue if item.code in codes)


def _codes(items: Iterable[ItemSpec]) -> list[str]:
    return [item.code for item in items]


def routes(catalogue: Catalogue) -> dict[InspectionKind, list[str]]:
    """The sheets of a type: item codes in the order of the walk, by kind of inspection."""
    deep = any(item.deep for item in catalogue)
    found = {
        InspectionKind.DAILY: _codes(item for item in catalogue if not item.deep),
        InspectionKind.AFTER_RIGGING: _codes(item for item in catalogue if item.rigging),
        InspectionKind.UNSCHEDULED: _codes(item for item in catalogue if item.structure),
        InspectionKind.PERIODIC: _codes(item for item in catalogue if not item.ballast) if deep else [],
    }
    return {kind: codes for kind, codes in found.items() if codes}
