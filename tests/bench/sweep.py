"""The time-driven sweep: aircraft whose verdict has run out, all at once, as at the midnight after a flying day."""

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from django.utils import timezone

from fleet.airworthiness.flying_day import edges
from fleet.services.upkeep import BATCH
from tests.bench.apart import Measured, apart
from tests.bench.figures import Goal, at_most, heading, line, ratios
from tests.bench.volume import Copier, mixed_fleet
from tests.factories import ClubFactory

JOB = "fleet.services.upkeep.reassess_due"
SIZES = (1_000, 10_000)
LINEAR: tuple[str, Goal] = ("<= 1.2", at_most(1.2))
MEMORY: tuple[str, Goal] = ("<= 50", at_most(50))


def fleets(at: datetime) -> Callable[[int], None]:
    """Adds aircraft until there are so many, each with a daily inspection of the day of ``at``."""
    templates = mixed_fleet(ClubFactory.create(), at)
    there = len(templates)
    prefixes = iter("CDEF")

    def grow(size: int) -> None:
        nonlocal there
        Copier(templates, next(prefixes)).copy(size - there)
        there = size

    return grow


def run(folder: Path, rounds: int = 5) -> None:
    """Prints."""
    now = timezone.now()
    midnight = edges(now, "Europe/Vienna")[1] + timedelta(minutes=1)
    grow = fleets(now)
    heading(f"Sweep of verdicts that ran out, {rounds} rounds, each on a fresh copy of the database")
    swept: dict[int, list[Measured]] = {}
    for size in SIZES:
        grow(size)
        swept[size] = [apart(JOB, midnight) for _ in range(rounds)]
        if {one.result for one in swept[size]} != {size}:
            raise RuntimeError(f"of {size} aircraft {swept[size][0].result} were due")
        show(size, swept[size])
    show_linear(swept)
    show_idle([apart(JOB, now) for _ in range(rounds)], swept[SIZES[1]])


def show(size: int, listed: list[Measured], goal: tuple[str, Goal] | None = None) -> None:
    """Statements, time and memory."""
    batches = -(-size // BATCH)
    statements = [one.statements / batches for one in listed]
    line(f"{size} aircraft: statements per batch of {BATCH}", statements, "{:.1f}")
    line("  ms per aircraft", [one.seconds / size * 1000 for one in listed], goal=goal)
    line("    of processor time in Python", [one.in_python / size * 1000 for one in listed])
    line("    of processor time in PostgreSQL", [one.in_database / size * 1000 for one in listed])
    line("  growth of memory, MB", [one.growth_mb for one in listed], "{:.1f}", MEMORY)


def show_linear(listed: dict[int, list[Measured]]) -> None:
    """Whether ten times as many take ten times as long."""
    small, large = SIZES
    seconds = {size: [one.seconds / size for one in listed[size]] for size in SIZES}
    spent = {size: [(one.in_python + one.in_database) / size for one in listed[size]] for size in SIZES}
    line(f"time per aircraft, {large} / {small}", ratios(seconds[large], seconds[small]))
    line("    of processor time", ratios(spent[large], spent[small]), goal=LINEAR)


def show_idle(idle: list[Measured], busy: list[Measured]) -> None:
    """Of a sweep that finds nothing to do."""
    line(f"nothing due among {SIZES[1]}: statements", [one.statements for one in idle], "{:.0f}", ("<= 3", at_most(3)))
    line("  ms", [one.seconds * 1000 for one in idle])
    shares = ratios([one.seconds for one in idle], [one.seconds for one in busy])
    line("  time / time with all of them due", shares, "{:.4f}", ("<= 0.01", at_most(0.01)))
