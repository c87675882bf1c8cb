"""Who meets over what: one aircraft that everything happens to, and a second of the same type."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from fleet import assessment, events
from fleet.models import Aircraft, AirworthinessState, Club, Membership, Role
from fleet.services import showing
from tests.factories import NOW, ClubFactory, InspectorFactory, MemberFactory, make_aircraft
from tests.scenes import scene

MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)


def lay_scene() -> None:
    """A club with everybody who is needed, twice."""
    club = ClubFactory.create()
    for role in (Role.PILOT, Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR):
        for _ in range(2):
            MemberFactory.create(club=club, roles=[role])
    for _ in range(3):
        InspectorFactory.create(club=club, roles=[Role.INSPECTOR])
    aircraft = make_aircraft(club, registration="ZZ-ONE", inspected_at=NOW)
    make_aircraft(club, aircraft_type=aircraft.aircraft_type, registration="ZZ-TWO")


class Cast:
    """People by role, and the clock: each round begins twenty minutes after the one before."""

    def __init__(self) -> None:
        scene("rivals", lay_scene)
        self.club = Club.objects.get()
        self.aircraft = Aircraft.objects.select_related("club", "aircraft_type").get(registration="ZZ-ONE")
        self.other = Aircraft.objects.get(registration="ZZ-TWO")
        self.people = {role: self._holding(role) for role in Role}
        self.start, self.round = NOW, 1

    def _holding(self, role: str) -> list[Membership]:
        """In the order in which the factories choose: the first inspector is the one who does their work."""
        found = Membership.objects.filter(club=self.club, roles__contains=[role]).select_related("club", "person")
        return list(found.order_by("joined_at", "id"))

    def by(self, role: str, number: int = 0) -> Membership:
        return self.people[Role(role)][number]

    def next_round(self) -> None:
        self.start += 20 * MINUTE
        self.round += 1

    def next_day(self) -> None:
        """What was deferred to the end of the day no longer is, and verdicts have run out."""
        self.start += DAY

    @property
    def at(self) -> datetime:
        """The instant at which both act; what must be there before was done in the minutes before it."""
        return self.start + 10 * MINUTE

    def on(self, defect_id: UUID, role: str, number: int = 0, *, late: int = 0) -> dict[str, Any]:
        """Common arguments of acts on a defect; ``late`` seconds after the other's."""
        return {"defect_id": defect_id, "by": self.by(role, number), "at": self.at + timedelta(seconds=late)}


def check(cast: Cast) -> None:
    """What must hold whatever happened at once: shown is recomputed, records valid, numbers without gap or double."""
    now = cast.at + MINUTE
    looks = showing.shown_now(AirworthinessState.objects.all(), now)
    verdicts = assessment.assess(list(looks), now)
    for aircraft_id, look in looks.items():
        assert look == assessment.shown_values(verdicts[aircraft_id]), "what is stored differs from the recomputed"
    verification = events.verify(cast.club)
    assert verification.valid, verification.faults
    for aircraft in Aircraft.objects.all():
        numbers = list(aircraft.defects.order_by("number").values_list("number", flat=True))
        assert numbers == list(range(1, len(numbers) + 1))
