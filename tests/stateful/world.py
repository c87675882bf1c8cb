"""Two clubs with everybody who could try something, in zones whose clocks change at different hours."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, date, datetime
from uuid import UUID

from fleet.models import (
    Aircraft,
    AircraftType,
    Authorisation,
    Club,
    Document,
    DocumentKind,
    Membership,
    Privilege,
    Role,
)
from inspections.models import InspectionKind, Sheet
from tests.factories import (
    BALLAST,
    ClubFactory,
    InspectorFactory,
    MemberFactory,
    add_documents,
    authorise,
    make_aircraft,
    make_type,
    publish_sheet,
)

# An ordinary day; the eve of a change of the clock at midnight (Santiago); the eve of one in the night (Vienna).
STARTS = (
    datetime(2025, 5, 14, 9, 0, tzinfo=UTC),
    datetime(2025, 9, 6, 23, 30, tzinfo=UTC),
    datetime(2025, 10, 25, 20, 0, tzinfo=UTC),
)
LAST_DAYS = (date(2025, 5, 15), date(2025, 9, 7), date(2025, 10, 26))  # of what ends soon after each start
PILOT, OFFICER, INSPECTOR = Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR


@dataclass(frozen=True, slots=True)
class World:
    """What never changes during a run; members are read anew before each act, as a request does."""

    clubs: tuple[Club, Club]
    members: tuple[UUID, ...]
    privileges: dict[UUID, set[str]]  # of those whose authorisations were valid at some start
    aircraft: tuple[Aircraft, ...]
    documents: tuple[Document, ...]
    sheets: tuple[Sheet, ...]


def build() -> World:
    """Two aircraft of one type with ballast in the first club, one of another type in the second."""
    club, other = (
        ClubFactory.create(time_zone="Europe/Vienna", document_notice_days=2),
        ClubFactory.create(time_zone="America/Santiago", triage_limit_days=1, decision_limit_days=2),
    )
    members = [*_people(club), *_people(other)]
    with_ballast, without = make_type(club, ballast=True), make_type(other)
    _publish_older_sheet(with_ballast)
    fleet = [
        make_aircraft(club, aircraft_type=with_ballast, documents=False),
        make_aircraft(club, aircraft_type=with_ballast),
        make_aircraft(other, aircraft_type=without),
    ]
    add_documents(fleet[0], DocumentKind.AIRWORTHINESS_REVIEW_CERTIFICATE)
    for last in LAST_DAYS:
        add_documents(fleet[0], DocumentKind.INSURANCE, expires_on=last)
    add_documents(fleet[0], DocumentKind.INSURANCE)
    return World(
        clubs=(club, other),
        members=tuple(member.id for member in members),
        privileges=_privileges(),
        aircraft=tuple(fleet),
        documents=tuple(Document.objects.order_by("aircraft__registration", "recorded_at", "expires_on")),
        sheets=tuple(Sheet.objects.order_by("aircraft_type__designation", "kind", "version")),
    )


def _privileges() -> dict[UUID, set[str]]:
    held: dict[UUID, set[str]] = defaultdict(set)
    for one in Authorisation.objects.filter(valid_until__gte=STARTS[0].date()):
        held[one.membership_id] |= set(one.privileges)
    return dict(held)


def _publish_older_sheet(aircraft_type: AircraftType) -> None:
    """The first version had no line for the ballast; it is still accepted."""
    codes = list(aircraft_type.items.exclude(code=BALLAST).values_list("code", flat=True))
    for kind in (InspectionKind.DAILY, InspectionKind.AFTER_RIGGING):
        publish_sheet(aircraft_type, kind, codes=codes)
        publish_sheet(aircraft_type, kind)


def _people(club: Club) -> list[Membership]:
    """Every role; authorised for both, for one of the two, until soon, no longer, never; several roles; gone."""
    pilots = [MemberFactory.create(club=club, roles=[PILOT]) for _ in range(2)]
    officer = MemberFactory.create(club=club, roles=[OFFICER])
    checker = MemberFactory.create(club=club, roles=[PILOT, OFFICER])
    authorise(checker, privileges=[Privilege.INDEPENDENT_INSPECTION])
    inspectors = [InspectorFactory.create(club=club, roles=roles) for roles in ([INSPECTOR], [PILOT, INSPECTOR])]
    without = InspectorFactory.create(club=club, roles=[INSPECTOR], authorised=False)
    soon, expired = (InspectorFactory.create(club=club, roles=[INSPECTOR], authorised=False) for _ in range(2))
    for last in LAST_DAYS:
        authorise(soon, valid_from=last.replace(day=1), valid_until=last)
    authorise(expired, valid_until=date(2025, 1, 31))
    auditor = MemberFactory.create(club=club, roles=[Role.AUDITOR])
    administrator = MemberFactory.create(club=club, roles=[Role.ADMINISTRATOR])
    everything = MemberFactory.create(club=club, roles=list(Role))
    gone = InspectorFactory.create(club=club, roles=[PILOT, INSPECTOR, OFFICER])
    Membership.objects.filter(id=gone.id).update(active=False)
    return [*pilots, officer, checker, *inspectors, without, soon, expired, auditor, administrator, everything, gone]
