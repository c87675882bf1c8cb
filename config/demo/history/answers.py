"""What somebody writes down who finds everything in order, but for a few lines."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from inspections.models import Outcome, SheetLine
from inspections.services.lines import Sent

Changes = Mapping[str, Mapping[str, Any]]  # fields of Sent, by item code


def _plausible(line: SheetLine) -> Decimal | None:
    """A value inside the limits; ballast: none on board."""
    if not line.measured:
        return None
    if line.ballast or line.minimum is None or line.maximum is None:
        return line.minimum or Decimal(0)
    return (line.minimum + line.maximum) / 2


def _good(line: SheetLine) -> Sent:
    unit = line.unit if line.measured else ""
    return Sent(item=line.code, outcome=Outcome.SATISFACTORY, value=_plausible(line), unit=unit)


def answers(lines: Sequence[SheetLine], changes: Changes) -> list[Sent]:
    """One result a line."""
    return [replace(_good(line), **changes.get(line.code, {})) for line in lines]
