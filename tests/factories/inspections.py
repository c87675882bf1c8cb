"""Sheets, inspections and rigging."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from fleet.models import Aircraft, AircraftType, Membership, Role
from inspections import selectors
from inspections.models import InspectionKind, Outcome, Sheet, SheetLine
from inspections.services import events, records, sheets
from inspections.services.lines import Sent
from inspections.services.records import Recorded
from tests.factories.clubs import keeper_of, member_of
from tests.factories.constants import FOUNDED, NOW

DURATION = timedelta(minutes=20)


def publish_sheet(
    aircraft_type: AircraftType,
    kind: str = InspectionKind.DAILY,
    *,
    codes: Sequence[str] | None = None,
    at: datetime = FOUNDED,
) -> Sheet:
    """The next version of a sheet over the whole catalogue, or over the items with these codes."""
    wanted = (
        list(codes) if codes is not None else list(aircraft_type.items.order_by("code").values_list("code", flat=True))
    )
    return sheets.publish(
        aircraft_type_id=aircraft_type.id,
        by=keeper_of(aircraft_type.club),
        at=at,
        kind=kind,
        title=f"{kind} sheet",
        codes=wanted,
    )


def _good(line: SheetLine, second: Membership | None) -> Sent:
    value = None
    if line.measured:
        value = next((limit for limit in (line.minimum, line.maximum) if limit is not None), Decimal(0))
    return Sent(
        item=line.code,
        outcome=Outcome.SATISFACTORY,
        value=value,
        unit=line.unit if line.measured else "",
        second_person=second.id if second and line.two_person else None,
    )


def complete_results(sheet: Sheet, *, second: Membership | None = None, **changes: dict[str, Any]) -> list[Sent]:
    """Every line satisfactory, measured values on a limit; two-person lines name ``second``, else the inspection does.

    Change lines by code, with ``_`` for ``-``: ``complete_results(sheet, sealing_tape={"outcome": "defect"})``.
    """
    changed = {code.replace("_", "-"): change for code, change in changes.items()}
    return [replace(_good(line, second), **changed.get(line.code, {})) for line in sheet.lines.order_by("position")]


def inspect(
    aircraft: Aircraft,
    kind: str = InspectionKind.DAILY,
    *,
    at: datetime = NOW,
    by: Membership | None = None,
    second: Membership | None = None,
    results: Sequence[Sent] | None = None,
    **more: Any,
) -> Recorded:
    """A complete inspection that began 20 minutes before ``at``, by two people found in the club or made.

    ``results`` (see ``complete_results``) and whatever else ``records.record`` takes may be given.
    """
    role = Role.INSPECTOR if kind in records.INSPECTOR_KINDS else Role.PILOT
    named = {one.second_person for one in results or ()} | {second.id if second else None}
    by = by or member_of(aircraft.club, role, other_than=named)
    second = second or member_of(aircraft.club, Role.PILOT, other_than={by.id})
    times: dict[str, Any] = {"started_at": at - DURATION, "completed_at": at}
    sheet = selectors.current_sheet(aircraft.aircraft_type, kind)
    return records.record(
        aircraft_id=aircraft.id,
        by=by,
        at=at,
        kind=kind,
        results=complete_results(sheet, second=second) if results is None else results,
        **times | {"second_person": second.id} | more,
    )


def rig(aircraft: Aircraft, *, at: datetime = NOW, by: Membership | None = None, kind: str = "rigged") -> None:
    """The aircraft was rigged (or derigged) at this instant."""
    rigger = by or member_of(aircraft.club, Role.PILOT)
    events.record_rigging(aircraft_id=aircraft.id, by=rigger, at=at, kind=kind, occurred_at=at)
