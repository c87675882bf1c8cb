"""The aircraft of the demo, with their types, sheets and documents."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from config.demo.catalogue.spec import routes
from config.demo.catalogue.types import FENNICK, HOLLBECK, MERROW_ONE, MERROW_TWO, TARNFELL, TypeSpec
from config.demo.days import Days
from config.demo.usage import flying
from fleet.airworthiness.flying_day import flying_day
from fleet.models import Aircraft, AircraftType, DocumentKind, Membership, UsageEntry
from fleet.services import documents, register, usage
from inspections.models import InspectionKind
from inspections.services import sheets

YEAR = timedelta(days=365)
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftSpec:
    """An aircraft, and in how many days its yearly papers expire (at least 32: out of the notice window)."""

    registration: str
    type: TypeSpec
    serial_number: str
    review_days: int
    insurance_days: int


FLEET = (
    AircraftSpec(registration="ZZ-K01", type=MERROW_TWO, serial_number="M2-014", review_days=187, insurance_days=96),
    AircraftSpec(registration="ZZ-K11", type=FENNICK, serial_number="F-203", review_days=141, insurance_days=96),
    AircraftSpec(registration="ZZ-K12", type=FENNICK, serial_number="F-211", review_days=64, insurance_days=96),
    AircraftSpec(registration="ZZ-K21", type=MERROW_ONE, serial_number="M1-058", review_days=118, insurance_days=96),
    AircraftSpec(registration="ZZ-K22", type=MERROW_ONE, serial_number="M1-061", review_days=203, insurance_days=96),
    AircraftSpec(registration="ZZ-K31", type=TARNFELL, serial_number="S-7", review_days=75, insurance_days=12),
    AircraftSpec(registration="ZZ-K41", type=HOLLBECK, serial_number="P-1102", review_days=159, insurance_days=130),
    AircraftSpec(registration="ZZ-K42", type=HOLLBECK, serial_number="P-1187", review_days=88, insurance_days=130),
)
NEIGHBOURS = (
    AircraftSpec(registration="ZZ-W07", type=TARNFELL, serial_number="S-12", review_days=110, insurance_days=170),
)
FLOWN = {  # hours and launches before the first day in the record
    "ZZ-K01": (1840, 5210), "ZZ-K11": (4120, 16380), "ZZ-K12": (3975, 15840), "ZZ-K21": (1265, 2730),
    "ZZ-K22": (1190, 2515), "ZZ-K31": (2860, 4905), "ZZ-K41": (3310, 19450), "ZZ-K42": (2740, 15120),
    "ZZ-W07": (905, 1480),
}  # fmt: skip


def _add_type(spec: TypeSpec, *, by: Membership, at: datetime) -> AircraftType:
    aircraft_type = register.add_type(
        by=by,
        at=at,
        designation=spec.designation,
        manufacturer=spec.manufacturer,
        category=spec.category,
        seats=spec.seats,
    )
    for item in spec.catalogue:
        register.add_item(aircraft_type=aircraft_type, by=by, at=at, **item.fields())
    for kind, codes in routes(spec.catalogue).items():
        title = f"{spec.designation}: {InspectionKind(kind).label.lower()}"
        sheets.publish(aircraft_type_id=aircraft_type.id, by=by, at=at, kind=kind, title=title, codes=codes)
    return aircraft_type


def _papers(spec: AircraftSpec, days: Days) -> Iterator[dict[str, Any]]:
    yearly = {
        DocumentKind.AIRWORTHINESS_REVIEW_CERTIFICATE: ("Review", spec.review_days),
        DocumentKind.INSURANCE: ("Policy", spec.insurance_days),
    }
    for kind, (name, ahead) in yearly.items():
        expires_on = days.day(ahead)
        reference = f"{name} {spec.serial_number}"
        yield {"kind": kind, "issued_on": expires_on - YEAR, "expires_on": expires_on, "reference": reference}
    weighed = f"Weighing {spec.serial_number}"
    yield {"kind": DocumentKind.WEIGHING_REPORT, "issued_on": days.day(-400), "reference": weighed}


def fill(fleet: Sequence[AircraftSpec], *, base: str, by: Membership, at: datetime, days: Days) -> dict[str, Aircraft]:
    """The aircraft by registration; each type once."""
    types = {spec.designation: _add_type(spec, by=by, at=at) for spec in dict.fromkeys(one.type for one in fleet)}
    found: dict[str, Aircraft] = {}
    for spec in fleet:
        aircraft, _verdict = register.add_aircraft(
            aircraft_type=types[spec.type.designation],
            by=by,
            at=at,
            registration=spec.registration,
            serial_number=spec.serial_number,
            base=base,
        )
        for number, paper in enumerate(_papers(spec, days), start=1):
            documents.add(aircraft_id=aircraft.id, by=by, at=at + number * MINUTE, **paper)
        hours, launches = FLOWN[spec.registration]
        opening = flying(spec.type.category, flying_day(at, days.time_zone), hours * 60, launches)
        usage.record(
            aircraft_id=aircraft.id, by=by, at=at + 10 * MINUTE, lines=[opening], source=UsageEntry.Source.OPENING
        )
        found[spec.registration] = aircraft
    return found
