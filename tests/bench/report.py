"""P3: reporting a defect through the API against psycopg alone sending the same statements, by as many clients."""

import logging
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial
from itertools import cycle, islice
from pathlib import Path
from statistics import median
from time import perf_counter
from uuid import UUID, uuid4

import orjson
import psycopg
from django.db import connection
from django.test import Client as Program
from django.utils import timezone

from defects.lifecycle import State
from defects.models import AssessmentCode, Defect
from fleet.models import Aircraft, Club, EventChain
from fleet.services import upkeep
from tests.bench import load, processor
from tests.bench.board import authorization
from tests.bench.crowd import add_history
from tests.bench.figures import Goal, at_least, at_most, heading, line, percentile, ratios
from tests.bench.replay import FIRST_NUMBER, FIRST_SEQUENCE, Report, captured
from tests.bench.servers import Web, web
from tests.bench.volume import Copier
from tests.factories import PLAIN, ClubFactory, add_documents, inspect, make_aircraft, reported
from tests.services.jobs import database_url

PATH = "/api/v1/defects"
ON_ONE = 10  # reports on the new and on the old aircraft, a round
Place = tuple[UUID, UUID]  # aircraft and its chain


@dataclass(frozen=True, slots=True)
class Way:
    """How many clients, on how many aircraft each of its own (none: all on one), how many reports each, and the goal."""

    name: str
    clients: int
    aircraft: int
    reports: int
    goal: tuple[str, Goal]


WAYS = (
    Way("1 client", 1, 10, 30, (">= 0.35", at_least(0.35))),
    Way("8 clients on many aircraft", 8, 6, 12, (">= 0.20", at_least(0.20))),
    Way("8 clients on one aircraft", 8, 0, 4, (">= 0.35", at_least(0.35))),
)
"""Few reports an aircraft: nobody reports a hundred defects in a row, and each open one adds a reason to the verdict."""


@dataclass(slots=True)
class Seen:
    """Of one way in all rounds: share of the raw rate, the same by processor time, and seconds of every report."""

    rates: list[float] = field(default_factory=list)
    shares: list[float] = field(default_factory=list)
    shares_of_processor: list[float] = field(default_factory=list)
    latencies: list[float] = field(default_factory=list)


def body(aircraft: UUID) -> bytes:
    """A report as a pilot's program sends it."""
    sent = {
        "aircraft": aircraft,
        "item": PLAIN,
        "description": "Scratch on the upper side, outside the spar.",
        "damage_kind": "scratch",
        "size_mm": 40,
        "found_at": timezone.now(),
        "found_during": "flight",
    }
    return orjson.dumps(sent)


def places(count: int) -> list[Place]:
    """So many aircraft of one club, each with one open defect, whose numbers the replay can tell from all others."""
    template = make_aircraft(ClubFactory.create())
    add_documents(template, "radio_licence")
    reported(template, at=timezone.now() - timedelta(hours=1))
    inspect(template, at=timezone.now() - timedelta(minutes=1))
    Copier([template], "C").copy(count - 1)
    Defect.objects.update(number=FIRST_NUMBER)
    chains = EventChain.objects.filter(aircraft__club=template.club)
    chains.update(length=FIRST_SEQUENCE)
    return list(chains.order_by("aircraft__registration").values_list("aircraft_id", "id"))


def capture(place: Place, headers: Mapping[str, str]) -> Report:
    """One report through the application."""
    aircraft, chain = place
    key = str(uuid4())
    program = Program(headers=headers, SERVER_NAME="localhost")
    program.get(PATH)  # the first use of a token is noted
    before = _known_ids()
    with captured() as seen:
        answer = program.post(PATH, body(aircraft), content_type="application/json", headers={"Idempotency-Key": key})
    assert answer.status_code == 201, answer.content
    statements = [one for one in seen if "SAVEPOINT" not in one[0]]
    made = Defect.objects.get(id=answer.json()["id"])
    return Report(statements, aircraft, chain, made.reported_at, key, before)


def _known_ids() -> frozenset[UUID]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT id FROM fleet_membership UNION SELECT id FROM fleet_club UNION SELECT id FROM fleet_item"
            " UNION SELECT id FROM fleet_aircrafttype UNION SELECT id FROM fleet_person UNION SELECT id FROM fleet_apitoken"
        )
        return frozenset(one for (one,) in cursor.fetchall())


def put_back() -> None:
    """Closes what was reported and stores the verdicts that follow, so that every burst starts alike."""
    now = timezone.now()
    Defect.objects.filter(state=State.REPORTED.value).exclude(number=FIRST_NUMBER).update(
        state=State.NO_DEFECT.value, assessment=AssessmentCode.NO_DEFECT, assessed_at=now
    )
    upkeep.reassess_everything(now)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    connection.close()  # what follows forks


def by_api(served: Web, headers: Mapping[str, str], chosen: Sequence[Place]) -> load.Client:
    """A client that reports through the API."""

    def act() -> list[float]:
        latencies = []
        for aircraft, _chain in chosen:
            sent = {**headers, "Content-Type": "application/json", "Idempotency-Key": str(uuid4())}
            start = perf_counter()
            status, _headers, answer = load.send(served.port, "POST", PATH, sent, body(aircraft))
            latencies.append(perf_counter() - start)
            if status != 201:
                raise RuntimeError(f"a report was answered {status}: {answer[:500]!r}")
        return latencies

    return lambda: (act, [])


def by_psycopg(report: Report, url: str, chosen: Sequence[Place]) -> load.Client:
    """A client that sends the statements itself."""

    def ready() -> tuple[load.Act, list[int]]:
        raw = psycopg.connect(url, autocommit=True)
        return lambda: [report.send(raw, *place) for place in chosen], [raw.info.backend_pid]

    return ready


def burst(way: Way, of_fleet: Sequence[Place], client: Callable[[Sequence[Place]], load.Client]) -> load.Done:
    """All clients of the way at once, each on its aircraft in turn."""
    own = [of_fleet[n * way.aircraft : (n + 1) * way.aircraft] or of_fleet[:1] for n in range(way.clients)]
    return load.run_clients([client(list(islice(cycle(one), way.reports))) for one in own])


def timed_by_api(served: Web, act: Callable[[], load.Done]) -> tuple[load.Done, float]:
    """What was done, and the seconds of processor time that web server and PostgreSQL spent on it."""
    pids = processor.children(served.pid) + processor.backends()
    connection.close()  # what follows forks
    before = processor.seconds(pids)
    done = act()
    return done, processor.seconds(pids) - before


def one_round(
    served: Web, headers: Mapping[str, str], report: Report, of_fleet: Sequence[Place], way: Way, seen: Seen
) -> None:
    """The application, then psycopg."""
    put_back()
    ours, spent = timed_by_api(served, lambda: burst(way, of_fleet, partial(by_api, served, headers)))
    put_back()
    raw = burst(way, of_fleet, partial(by_psycopg, report, database_url()))
    seen.rates.append(ours.rate)
    seen.shares.append(ours.rate / raw.rate)
    seen.shares_of_processor.append(raw.processor_seconds / spent)
    seen.latencies += ours.latencies


def run(folder: Path, rounds: int = 9) -> None:
    """Prints."""
    logging.disable(logging.CRITICAL)  # putting back changes verdicts behind the application's back, which it tells
    of_fleet = places(max(way.clients * way.aircraft for way in WAYS))
    headers = authorization(Club.objects.get(aircraft=of_fleet[0][0]))
    report = capture(of_fleet[0], headers)
    seen: dict[str, Seen] = defaultdict(Seen)
    heading(f"P3 reporting a defect, {rounds} rounds, gunicorn with 2 sync workers")
    with web(folder, database_url()) as served:
        for _ in range(2):  # until every worker has its connection
            burst(WAYS[1], of_fleet, partial(by_api, served, headers))
        for _ in range(rounds):
            for way in WAYS:
                one_round(served, headers, report, of_fleet, way, seen[way.name])
        for way in WAYS:
            show(way, seen[way.name])
        show_history(served, rounds)


def show(way: Way, seen: Seen) -> None:
    """Of one way."""
    line(f"{way.name}: reports/s", seen.rates, "{:.0f}")
    line("  share of psycopg alone", seen.shares, goal=way.goal)
    line("    by processor time", seen.shares_of_processor)
    line("  median ms", [median(seen.latencies) * 1000], "{:.0f}")
    goal = ("<= 60", at_most(60)) if way.clients > 1 else None
    line("  p99 ms", [percentile(seen.latencies, 99) * 1000], "{:.0f}", goal)


def show_history(served: Web, rounds: int) -> None:
    """A report on a new aircraft against one on an aircraft with a long history: statements and time."""
    new, old = make_aircraft(ClubFactory.create()), make_aircraft(ClubFactory.create())
    add_history(old, timezone.now() - timedelta(minutes=1))
    spent: dict[Aircraft, list[float]] = defaultdict(list)
    for what, aircraft in (("new aircraft", new), ("10,000 of each kind of record before", old)):
        place = (aircraft.id, EventChain.objects.get(aircraft=aircraft).id)
        statements = capture(place, authorization(aircraft.club)).statements
        line(f"statements of a report, {what}", [len(statements)], "{:.0f}", ("<= 25", at_most(25)))
    clients = {one: partial(by_api, served, authorization(one.club)) for one in (new, old)}
    for _ in range(rounds):
        put_back()
        for aircraft, client in clients.items():
            own = [client([(aircraft.id, aircraft.id)] * ON_ONE)]
            _done, seconds = timed_by_api(served, partial(load.run_clients, own))
            spent[aircraft].append(seconds / ON_ONE * 1000)
    line("ms of processor time of a report, new aircraft", spent[new])
    line("  with that history / new", ratios(spent[old], spent[new]), goal=("<= 1.2", at_most(1.2)))
