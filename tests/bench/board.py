"""P1: the board of 100 aircraft against a bare handler and against a plain view set, 304 against 200, and its queries."""

import os
from collections import defaultdict
from datetime import datetime
from pathlib import Path

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet.models import Club
from fleet.services import access
from tests.bench.bare import CLUB
from tests.bench.figures import at_least, at_most, heading, line, ratios
from tests.bench.load import Sample, expect, sample
from tests.bench.servers import web
from tests.bench.volume import Copier, mixed_fleet
from tests.factories import ClubFactory, MemberFactory, make_aircraft
from tests.services.jobs import database_url

BOARD = "/api/v1/board"
GOALS = [
    ("board", "bare handler", (">= 0.30", at_least(0.3))),
    ("board", "bare handler that reads the JSON", None),
    ("board", "plain view set without sign-in", (">= 3", at_least(3))),
    ("board, 304", "board", (">= 2", at_least(2))),
]


def club_of(size: int, at: datetime) -> Club:
    """A club with so many aircraft."""
    club = ClubFactory.create()
    if size == 1:
        make_aircraft(club)
        return club
    templates = mixed_fleet(club, at)
    Copier(templates, "C").copy(size - len(templates))
    return club


def authorization(club: Club) -> dict[str, str]:
    """The header of a pilot's program."""
    _token, secret = access.issue_token(by=MemberFactory.create(club=club), name="bench", at=timezone.now())
    return {"Authorization": f"Bearer {secret}"}


def queries(club: Club) -> int:
    """Of one board, sign-in included."""
    client = Client(headers=authorization(club), SERVER_NAME="localhost")
    client.get(BOARD)  # the first use of a token is noted
    with CaptureQueriesContext(connection) as seen:
        assert client.get(BOARD).status_code == 200
    return len(seen)


def run(folder: Path, rounds: int = 7) -> None:
    """Prints."""
    now = timezone.now()
    clubs = {size: club_of(size, now) for size in (1, 100, 1000)}
    heading(f"P1 board of 100 aircraft, {rounds} rounds, gunicorn with 2 sync workers")
    for size, club in clubs.items():
        line(f"queries of the board, {size} aircraft", [queries(club)], "{:.0f}", ("<= 3", at_most(3)))
    os.environ[CLUB] = str(clubs[100].id)
    signed_in = authorization(clubs[100])
    with web(folder, database_url()) as served:
        known = signed_in | {"If-None-Match": expect(served.port, BOARD, signed_in, 200)["ETag"]}
        tried: dict[str, tuple[str, dict[str, str], int]] = {
            "bare handler": ("/bare/board", {}, 200),
            "board": (BOARD, signed_in, 200),
            "board, 304": (BOARD, known, 304),
            "plain view set without sign-in": ("/plain/board", {}, 200),
            "bare handler that reads the JSON": ("/bare/board-read", {}, 200),
        }
        samples: dict[str, list[Sample]] = defaultdict(list)
        for _ in range(rounds):
            for name, (path, headers, status) in tried.items():
                samples[name].append(sample(served, path, headers, status=status))
    show(samples)


def show(samples: dict[str, list[Sample]]) -> None:
    """Ratios of rates, and the same ratios by processor time."""
    rates = {name: [one.rate for one in listed] for name, listed in samples.items()}
    costs = {name: [one.cost_ms for one in listed] for name, listed in samples.items()}
    for name in samples:
        line(f"requests/s, {name}", rates[name], "{:.0f}")
        line(f"ms of processor time, {name}", costs[name])
    for ours, theirs, goal in GOALS:
        line(f"{ours} / {theirs}", ratios(rates[ours], rates[theirs]), goal=goal)
        line("    by processor time", ratios(costs[theirs], costs[ours]))
