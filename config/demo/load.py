"""Loads the demo: two clubs, their people and aircraft, and what happened to them, relative to now."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from django.db import transaction

from config.demo.days import Days
from config.demo.hangar import FLEET, NEIGHBOURS, AircraftSpec, fill
from config.demo.history import powered, sailplanes
from config.demo.history.scene import Scene
from config.demo.people import MEMBERS, OUTSIDERS, MemberSpec, enrol_all
from fleet import assessment
from fleet.models import Aircraft, Club
from fleet.services import people

CLUB = "Gliding Club Nimmerfeld"
SECOND_CLUB = "Flying Group Anderswo"
FOUNDED_DAYS_AGO = 150

Stories = Mapping[str, Callable[[Scene], None]]

STORIES: Stories = {
    "ZZ-K01": sailplanes.two_seater,
    "ZZ-K11": sailplanes.grounded_trainer,
    "ZZ-K12": sailplanes.deferred_trainer,
    "ZZ-K21": sailplanes.scratched_single_seater,
    "ZZ-K22": sailplanes.waiting_single_seater,
    "ZZ-K31": powered.motor_glider,
    "ZZ-K41": powered.landed_hard,
    "ZZ-K42": powered.second_tow_plane,
}
SECOND_STORIES: Stories = {"ZZ-W07": powered.neighbour}


@transaction.atomic
def load(*, password: str, now: datetime) -> None:
    """Load the demo unless it is there; all of it or nothing. ``now`` is aware; nothing happens after it.

    Everybody gets the password, however weak. Raises Invalid if a user name is taken by somebody else.
    """
    if Club.objects.filter(name=CLUB).exists():
        return
    _club(CLUB, "Europe/Vienna", MEMBERS, "officer", FLEET, STORIES, password=password, now=now)
    _club(SECOND_CLUB, "Europe/Lisbon", OUTSIDERS, "outsider", NEIGHBOURS, SECOND_STORIES, password=password, now=now)


def _club(
    name: str,
    time_zone: str,
    members: Sequence[MemberSpec],
    keeper: str,
    fleet: Sequence[AircraftSpec],
    stories: Stories,
    *,
    password: str,
    now: datetime,
) -> None:
    days = Days(now, time_zone)
    founded_at = days.ago(FOUNDED_DAYS_AGO, "10:00")
    club = people.found_club(at=founded_at, name=name, time_zone=time_zone)
    enrolled = enrol_all(members, club, password=password, days=days, at=founded_at)
    hangar = fill(fleet, base=name.rpartition(" ")[2], by=enrolled[keeper], at=founded_at, days=days)
    for registration, story in stories.items():
        story(Scene(aircraft=hangar[registration], members=enrolled, days=days))
    # what time alone has changed since the last act: notice windows, midnights
    assessment.lock_many(Aircraft.objects.filter(club=club), at=now)
