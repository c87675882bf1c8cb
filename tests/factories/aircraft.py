"""Aircraft that are fit to fly until a test does something to them."""

from datetime import datetime
from itertools import count
from typing import Any

from fleet.models import Aircraft, AircraftType, Club, DocumentKind
from fleet.services import register
from inspections.models import InspectionKind, Sheet
from tests.factories.catalogue import make_type
from tests.factories.clubs import keeper_of
from tests.factories.constants import FOUNDED, VALID_FROM, VALID_UNTIL
from tests.factories.inspections import inspect, publish_sheet

_numbers = count(1)


def fresh(aircraft: Aircraft) -> Aircraft:
    """The aircraft as stored now, with type, club and stored verdict."""
    return Aircraft.objects.select_related("club", "aircraft_type", "airworthiness").get(id=aircraft.id)


def add_documents(aircraft: Aircraft, *kinds: str, at: datetime = FOUNDED, **changes: Any) -> None:
    """The documents that a club requires by default (or these kinds), valid for decades."""
    required = (DocumentKind.AIRWORTHINESS_REVIEW_CERTIFICATE, DocumentKind.INSURANCE)
    dates = {"issued_on": VALID_FROM, "expires_on": VALID_UNTIL} | changes
    for kind in kinds or required:
        register.add_document(aircraft_id=aircraft.id, by=keeper_of(aircraft.club), at=at, kind=kind, **dates)


def _publish_sheets(of_type: AircraftType) -> None:
    if not of_type.items.exists() or Sheet.objects.filter(aircraft_type=of_type).exists():
        return
    publish_sheet(of_type)
    if of_type.items.filter(two_person=True).exists():
        publish_sheet(of_type, InspectionKind.AFTER_RIGGING)


def make_aircraft(
    club: Club,
    *,
    aircraft_type: AircraftType | None = None,
    at: datetime = FOUNDED,
    documents: bool = True,
    ballast: bool = False,
    inspected_at: datetime | None = None,
    **fields: Any,
) -> Aircraft:
    """A serviceable aircraft of a type (new unless given) with catalogue, daily and after-rigging sheets and documents.

    A given type whose catalogue has no sheets yet gets them over all its items.

    ``inspected_at``: with a complete daily inspection then, hence ``ready_today`` on that flying day.
    """
    number = next(_numbers)
    of_type = aircraft_type or make_type(club, ballast=ballast)
    _publish_sheets(of_type)
    fields = {"registration": f"ZZ-T{number:03}", "serial_number": f"{number}"} | fields
    aircraft, _verdict = register.add_aircraft(aircraft_type=of_type, by=keeper_of(club), at=at, **fields)
    aircraft = fresh(aircraft)
    if documents:
        add_documents(aircraft, at=at)
    if inspected_at is not None:
        inspect(aircraft, at=inspected_at)
    return fresh(aircraft)
