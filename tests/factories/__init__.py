"""Ready-made clubs, people, types, aircraft, inspections and defects, made through the services, so that history is real.

Everything is founded at ``FOUNDED``; what is done later takes ``at`` and must go forward in time on each aircraft.
"""

from tests.factories.aircraft import add_documents, fresh, make_aircraft
from tests.factories.catalogue import (
    BALLAST,
    CRITICAL,
    MEASURED,
    PLAIN,
    TWO_PERSON,
    AircraftTypeFactory,
    ItemFactory,
    make_type,
)
from tests.factories.clubs import ClubFactory, InspectorFactory, MemberFactory, authorise, keeper_of, member_of
from tests.factories.constants import FOUNDED, NOW, PASSWORD
from tests.factories.defects import (
    assessed,
    deferred,
    inspected,
    no_defect,
    rectified,
    rejected,
    released,
    reported,
)
from tests.factories.inspections import complete_results, inspect, publish_sheet, rig

__all__ = [
    "BALLAST",
    "CRITICAL",
    "FOUNDED",
    "MEASURED",
    "NOW",
    "PASSWORD",
    "PLAIN",
    "TWO_PERSON",
    "AircraftTypeFactory",
    "ClubFactory",
    "InspectorFactory",
    "ItemFactory",
    "MemberFactory",
    "add_documents",
    "assessed",
    "authorise",
    "complete_results",
    "deferred",
    "fresh",
    "inspect",
    "inspected",
    "keeper_of",
    "make_aircraft",
    "make_type",
    "member_of",
    "no_defect",
    "publish_sheet",
    "rectified",
    "rejected",
    "released",
    "reported",
    "rig",
]
