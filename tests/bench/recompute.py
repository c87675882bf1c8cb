"""P5: judging every aircraft anew, the oracle behind the self-check."""

from datetime import timedelta
from pathlib import Path

from django.utils import timezone

from tests.bench.apart import Measured, apart
from tests.bench.figures import Goal, at_most, heading
from tests.bench.sweep import SIZES, fleets, show, show_linear

JOB = "fleet.services.upkeep.reassess_everything"
TIME: tuple[str, Goal] = ("<= 2", at_most(2))


def run(folder: Path, rounds: int = 5) -> None:
    """Prints."""
    now = timezone.now()
    grow = fleets(now)
    heading(f"P5 recomputing everything, {rounds} rounds, each on a fresh copy of the database")
    listed: dict[int, list[Measured]] = {}
    for size in SIZES:
        grow(size)
        listed[size] = [apart(JOB, now + timedelta(seconds=1)) for _ in range(rounds)]
        if any(one.result for one in listed[size]):
            raise RuntimeError(f"{listed[size][0].result} stored verdicts differ from the recomputed ones")
        show(size, listed[size], TIME)
    show_linear(listed)
