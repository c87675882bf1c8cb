"""The invented aircraft types."""

from dataclasses import dataclass

from config.demo.catalogue.powered import MOTOR_GLIDER, TOW_PLANE
from config.demo.catalogue.sailplanes import FULL, SINGLE_SEATER, TRAINER
from config.demo.catalogue.spec import Catalogue
from fleet.models import AircraftCategory


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeSpec:
    """A type and its catalogue, in the order of the walk."""

    designation: str
    manufacturer: str
    category: AircraftCategory
    seats: int
    catalogue: Catalogue


MERROW_TWO = TypeSpec(
    designation="Merrow M2 SL",
    manufacturer="Merrow Sailplanes",
    category=AircraftCategory.POWERED_SAILPLANE,
    seats=2,
    catalogue=FULL,
)
MERROW_ONE = TypeSpec(
    designation="Merrow M1",
    manufacturer="Merrow Sailplanes",
    category=AircraftCategory.SAILPLANE,
    seats=1,
    catalogue=SINGLE_SEATER,
)
FENNICK = TypeSpec(
    designation="Fennick School",
    manufacturer="Fennick Works",
    category=AircraftCategory.SAILPLANE,
    seats=2,
    catalogue=TRAINER,
)
TARNFELL = TypeSpec(
    designation="Tarnfell Stroller",
    manufacturer="Tarnfell Light Aircraft",
    category=AircraftCategory.TOURING_MOTOR_GLIDER,
    seats=2,
    catalogue=MOTOR_GLIDER,
)
HOLLBECK = TypeSpec(
    designation="Hollbeck Packhorse",
    manufacturer="Hollbeck Aircraft",
    category=AircraftCategory.AEROPLANE,
    seats=2,
    catalogue=TOW_PLANE,
)
