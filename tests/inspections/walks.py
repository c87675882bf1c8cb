"""A walk round the aircraft in which everything is in order but what a test changes."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from fleet import assessment
from fleet.models import Aircraft, Membership
from inspections import selectors
from inspections.models import InspectionKind, Sheet
from inspections.services import records
from inspections.services.lines import Sent
from inspections.services.records import Recorded
from tests.factories import NOW, complete_results, fresh

Changes = Mapping[str, dict[str, Any] | None]  # by item code; None leaves the line out
LENGTH = timedelta(minutes=20)


def results_of(sheet: Sheet, changes: Changes) -> list[Sent]:
    """Every line satisfactory and measured on a limit, but for the changes; no line names a second person of its own."""
    good = [one for one in complete_results(sheet) if changes.get(one.item, {}) is not None]
    return [replace(one, **(changes.get(one.item) or {})) for one in good]


def walk(
    aircraft: Aircraft,
    *,
    by: Membership,
    second: Membership | None,
    changes: Changes | None = None,
    at: datetime = NOW,
    kind: str = InspectionKind.DAILY,
    sheet: Sheet | None = None,
    **more: Any,
) -> Recorded:
    """An inspection that ends at ``at`` and is stored then; ``second`` for the inspection as a whole."""
    used = sheet or selectors.current_sheet(aircraft.aircraft_type, kind)
    sent: dict[str, Any] = {
        "started_at": at - LENGTH,
        "completed_at": at,
        "results": results_of(used, changes or {}),
    }
    return records.record(
        aircraft_id=aircraft.id,
        by=by,
        at=at,
        kind=kind,
        sheet_id=sheet.id if sheet else None,
        second_person=second.id if second else None,
        **sent | more,
    )


def shown(aircraft: Aircraft, at: datetime) -> dict[str, Any]:
    """What a look at this instant shows."""
    return assessment.shown_at(fresh(aircraft).airworthiness, at)


def ready(aircraft: Aircraft, at: datetime) -> bool:
    """Whether a look at this instant shows the aircraft as inspected today."""
    return bool(shown(aircraft, at)["ready_today"])


def rules(aircraft: Aircraft, at: datetime) -> set[str]:
    """The rules behind what a look at this instant shows."""
    return {reason["rule"] for reason in shown(aircraft, at)["reasons"]}
