"""Models of the register."""

from fleet.models.access import ApiToken, IdempotencyRecord
from fleet.models.aircraft import (
    Aircraft,
    AirworthinessState,
    AssessmentPeriod,
    StatusCode,
)
from fleet.models.catalogue import (
    INSPECTABLE_FIELDS,
    AircraftType,
    Inspectable,
    Item,
    Side,
    Zone,
)
from fleet.models.components import Component, ComponentKind, KnownAmounts, Position
from fleet.models.events import Event, EventChain
from fleet.models.installations import Installation, Overhaul
from fleet.models.papers import (
    Attachment,
    Document,
    DocumentKind,
    Flag,
    JobRun,
    Notification,
)
from fleet.models.people import (
    AircraftCategory,
    Authorisation,
    Club,
    Membership,
    Person,
    Privilege,
    Role,
)
from fleet.models.usage import DIMENSIONS, Amounts, UsageEntry, UsageTotal

__all__ = [
    "DIMENSIONS",
    "INSPECTABLE_FIELDS",
    "Aircraft",
    "AircraftCategory",
    "AircraftType",
    "AirworthinessState",
    "Amounts",
    "ApiToken",
    "AssessmentPeriod",
    "Attachment",
    "Authorisation",
    "Club",
    "Component",
    "ComponentKind",
    "Document",
    "DocumentKind",
    "Event",
    "EventChain",
    "Flag",
    "IdempotencyRecord",
    "Inspectable",
    "Installation",
    "Item",
    "JobRun",
    "KnownAmounts",
    "Membership",
    "Notification",
    "Overhaul",
    "Person",
    "Position",
    "Privilege",
    "Role",
    "Side",
    "StatusCode",
    "UsageEntry",
    "UsageTotal",
    "Zone",
]
