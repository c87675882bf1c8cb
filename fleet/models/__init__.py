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
from fleet.models.events import Event, EventChain
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

__all__ = [
    "INSPECTABLE_FIELDS",
    "Aircraft",
    "AircraftCategory",
    "AircraftType",
    "AirworthinessState",
    "ApiToken",
    "AssessmentPeriod",
    "Attachment",
    "Authorisation",
    "Club",
    "Document",
    "DocumentKind",
    "Event",
    "EventChain",
    "Flag",
    "IdempotencyRecord",
    "Inspectable",
    "Item",
    "JobRun",
    "Membership",
    "Notification",
    "Person",
    "Privilege",
    "Role",
    "Side",
    "StatusCode",
    "Zone",
]
