"""Reads of sheets and inspections, scoped to a club."""

from uuid import UUID

from django.db.models import QuerySet

from fleet import selectors as fleet_selectors
from fleet.errors import Conflict, invalid
from fleet.models import AircraftType, Attachment
from inspections.models import (
    Inspection,
    InspectionKind,
    Occurrence,
    RiggingEvent,
    Sheet,
)

# Without a sheet of its own kind, these inspections follow the daily route: a newly rigged aircraft gets a daily
# inspection at least (BGA guidance), and so does one after an occurrence.
FALLBACK = {
    InspectionKind.AFTER_RIGGING: InspectionKind.DAILY,
    InspectionKind.UNSCHEDULED: InspectionKind.DAILY,
}


def sheets_of(club_id: UUID) -> QuerySet[Sheet]:
    """Every published sheet of the club."""
    return Sheet.objects.filter(aircraft_type__club_id=club_id)


def current_sheets(rows: QuerySet[Sheet]) -> QuerySet[Sheet]:
    """Keys of the latest version of each type and kind."""
    latest = rows.order_by("aircraft_type", "kind", "-version").distinct("aircraft_type", "kind")
    return latest.values("id")  # type: ignore[return-value]


def current_sheet(aircraft_type: AircraftType, kind: str) -> Sheet:
    """The latest version for this kind of inspection."""
    kinds = [kind, FALLBACK[InspectionKind(kind)]] if kind in FALLBACK else [kind]
    for wanted in kinds:
        sheet = Sheet.objects.filter(aircraft_type=aircraft_type, kind=wanted).order_by("-version").first()
        if sheet:
            return sheet
    raise Conflict(
        "no_sheet",
        f"{aircraft_type.designation} has no published sheet for this kind of inspection."
        " Ask the technical officer to publish one.",
    )


def sheet_for(aircraft_type: AircraftType, kind: str, sheet_id: UUID | None) -> Sheet:
    """The sheet named by an inspection: it must be of the aircraft's type and fit the kind; an older version is accepted."""
    if sheet_id is None:
        return current_sheet(aircraft_type, kind)
    sheet = Sheet.objects.filter(aircraft_type=aircraft_type, id=sheet_id).first()
    fitting = {kind, FALLBACK[InspectionKind(kind)]} if kind in FALLBACK else {kind}
    if sheet is None or sheet.kind not in fitting:
        raise invalid(
            "/sheet",
            "unknown_sheet",
            "This is no sheet of this aircraft's type for this kind of inspection.",
        )
    return sheet


def inspections_of(club_id: UUID) -> QuerySet[Inspection]:
    """Every inspection of the club's aircraft."""
    return Inspection.objects.filter(aircraft__club_id=club_id)


def attachments_of(club_id: UUID) -> QuerySet[Attachment]:
    """Every attachment of the club with what it is attached to."""
    return fleet_selectors.attachments_of(club_id).select_related("defect_link", "inspection_link")


def occurrences_of(club_id: UUID) -> QuerySet[Occurrence]:
    """Every occurrence of the club's aircraft."""
    return Occurrence.objects.filter(aircraft__club_id=club_id)


def rigging_events_of(club_id: UUID) -> QuerySet[RiggingEvent]:
    """Every rigging event of the club's aircraft."""
    return RiggingEvent.objects.filter(aircraft__club_id=club_id)
