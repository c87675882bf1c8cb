"""What cannot be right about lines of usage: every problem of every line, not only the first."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from fleet.airworthiness.sentences import hours
from fleet.errors import FieldError, Invalid
from fleet.services.usage.alone import DAY_MINUTES, MOST_IN_A_LINE, found_in
from fleet.services.usage.ground import Ground
from fleet.services.usage.lines import Line


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one line: its place among the lines, the field, a stable code, what to do."""

    index: int
    field: str
    code: str
    detail: str


class LinesRefused(Invalid):
    """Lines that cannot be right; nothing was recorded. Pointers lead into ``entries``, or to the only entry."""

    def __init__(self, problems: Sequence[Problem], *, alone: bool = False) -> None:
        self.problems = tuple(problems)
        errors = tuple(
            FieldError(f"/{one.field}" if alone else f"/entries/{one.index}/{one.field}", one.code, one.detail)
            for one in problems
        )
        super().__init__("invalid", errors[0].detail, errors)

    def of_one(self) -> "LinesRefused":
        """The same for somebody who sent a single entry."""
        return LinesRefused(self.problems, alone=True)


def problems(lines: Sequence[Line], known: Ground) -> list[Problem]:
    """Everything wrong with settled lines, in their order."""
    alone = [Problem(index, *found) for index, line in enumerate(lines) for found in found_in(line, known)]
    together = _more_than_one(lines) if known.opening else (*_full_days(lines, known), *_overlaps(lines, known))
    return sorted((*alone, *together), key=lambda one: one.index)


def _more_than_one(lines: Sequence[Line]) -> Iterator[Problem]:
    for index in range(1, len(lines)):
        yield Problem(index, "source", "one_opening", "An aircraft has one opening balance.")


def _full_days(lines: Sequence[Line], known: Ground) -> Iterator[Problem]:
    """No day has more than 24 hours of flying, or of a running engine."""
    for name in ("airframe_minutes", "engine_minutes"):
        sums: dict[date, int] = defaultdict(int)
        for entry in known.entries:
            sums[entry.flown_on] += getattr(entry, name)
        for index, line in enumerate(lines):
            amount = getattr(line, name)
            if line.flown_on is None or amount is None or not 0 < amount <= MOST_IN_A_LINE:
                continue
            sums[line.flown_on] += amount
            if sums[line.flown_on] > DAY_MINUTES:
                total = hours(sums[line.flown_on])
                yield Problem(
                    index, name, "more_than_a_day", f"With this, {line.flown_on.isoformat()} comes to {total}."
                )


def _overlaps(lines: Sequence[Line], known: Ground) -> Iterator[Problem]:
    """An aircraft makes one flight at a time: none begins before the one before it has landed."""
    spans = [(*times, index) for index, line in enumerate(lines) if (times := line.times()) is not None]
    recorded = [
        (entry.takeoff_at, entry.landing_at, -1) for entry in known.entries if entry.takeoff_at and entry.landing_at
    ]
    until: datetime | None = None
    holder = -1
    for takeoff, landing, index in sorted((*spans, *recorded)):
        if until is not None and takeoff < until and max(index, holder) >= 0:
            common = f"{takeoff:%Y-%m-%d %H:%M} to {min(landing, until):%H:%M} UTC"
            yield _overlap(max(index, holder), against=min(index, holder), common=common)
        if until is None or landing > until:
            until, holder = landing, index


def _overlap(index: int, *, against: int, common: str) -> Problem:
    whom = "a flight that is recorded already" if against < 0 else f"entry {against + 1} of these"
    return Problem(index, "takeoff_at", "overlap", f"This overlaps with {whom} ({common}).")
