"""P2: a page in the middle and the last one against page 1 of the lists, through the API and in the database alone."""

import time
from collections import defaultdict
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import orjson
import psycopg
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet.models import Aircraft
from tests.bench.board import authorization
from tests.bench.crowd import ROWS, crowded
from tests.bench.figures import Goal, at_most, heading, line, ratios
from tests.bench.load import get
from tests.bench.servers import web
from tests.factories import ClubFactory, make_aircraft
from tests.services.jobs import database_url

REPEATED = 20  # in each round, page by page in turn
LISTS = ("/api/v1/events", "/api/v1/defects", "/api/v1/aircraft")
OF_ONE = ("/api/v1/events?aircraft={}", "/api/v1/defects?aircraft={}")
GOAL: tuple[str, Goal] = ("<= 1.2", at_most(1.2))
Headers = dict[str, str]


def run(folder: Path, rounds: int = 7) -> None:
    """Prints."""
    now = timezone.now()
    aircraft = crowded(now, aircraft=ROWS)
    crowded(now, aircraft=1)
    small = make_aircraft(ClubFactory.create())
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    headers, of_small = authorization(aircraft.club), authorization(small.club)
    heading(f"P2 lists of {ROWS} rows in pages of 50, {rounds} rounds; another club's rows lie between")
    with web(folder, database_url()) as served:
        for address in lists_of(aircraft):
            pages = walk(served.port, address, headers)
            chosen = [(pages[0], headers), (pages[len(pages) // 2], headers), (pages[-2], headers)]
            beside = (lists_of(small)[lists_of(aircraft).index(address)], of_small)
            compare(served.port, [*chosen, beside], rounds, f"{urlsplit(address).path}{'?aircraft' * ('?' in address)}")


def lists_of(aircraft: Aircraft) -> list[str]:
    """Addresses of the lists, of the club and of one aircraft."""
    return [*LISTS, *(address.format(aircraft.id) for address in OF_ONE)]


def walk(port: int, address: str, headers: Headers) -> list[str]:
    """The addresses of all pages."""
    found: list[str] = []
    next_one: str | None = address
    while next_one:
        found.append(next_one)
        status, _headers, body = get(port, next_one, headers)
        if status != 200:
            raise RuntimeError(f"{next_one} answered {status}: {body[:500]!r}")
        link = orjson.loads(body)["next"]
        next_one = link and f"{urlsplit(link).path}?{urlsplit(link).query}"
    return found


def compare(port: int, pages: list[tuple[str, Headers]], rounds: int, name: str) -> None:
    """Prints the ratios of the middle and the last page, and of a small club's first page, to the first page."""
    statements = [statement_of(*page) for page in pages]
    through_api: dict[int, list[float]] = defaultdict(list)
    in_database: dict[int, list[float]] = defaultdict(list)
    with psycopg.connect(database_url(), autocommit=True) as raw:
        for _ in range(rounds):
            for index, one in best([lambda page=page: get(port, *page) for page in pages]):
                through_api[index].append(one)
            for index, one in best([lambda sql=sql: raw.execute(sql).fetchall() for sql in statements]):
                in_database[index].append(one)
    line(f"{name}: ms of page 1", [one * 1000 for one in through_api[0]])
    line("    in the database alone", [one * 1000 for one in in_database[0]])
    for index, what in ((1, "middle page / page 1"), (2, "last page / page 1")):
        line(f"  {what}", ratios(through_api[index], through_api[0]), goal=GOAL)
        line("    in the database alone", ratios(in_database[index], in_database[0]))
    line("  page 1 of a club with one aircraft / page 1", ratios(through_api[3], through_api[0]))
    line("    in the database alone", ratios(in_database[3], in_database[0]))


def best(acts: list[Any]) -> list[tuple[int, float]]:
    """Seconds that each act takes when nothing disturbs it, the acts in turn."""
    taken: dict[int, list[float]] = defaultdict(list)
    for _ in range(REPEATED):
        for index, act in enumerate(acts):
            start = time.perf_counter()
            act()
            taken[index].append(time.perf_counter() - start)
    return [(index, min(listed)) for index, listed in taken.items()]


def statement_of(address: str, headers: Headers) -> Any:
    """The statement that reads the page: the last one of the request."""
    client = Client(headers=headers, SERVER_NAME="localhost")
    with CaptureQueriesContext(connection) as seen:
        assert client.get(address).status_code == 200
    return seen[-1]["sql"].encode()
