"""Printing: medians over the rounds, with the goal and whether it was met."""

import os
import platform
import sys
from collections.abc import Callable, Sequence
from statistics import median

Goal = Callable[[float], bool]


def heading(title: str) -> None:
    """What is measured and on what: load of others falsifies absolute figures, and ratios less."""
    load = ", ".join(f"{value:.1f}" for value in os.getloadavg())
    _tell(f"\n{title}")
    _tell(f"{os.cpu_count()} cores, Python {platform.python_version()}, load average before: {load}\n")


def at_least(limit: float) -> Goal:
    """The goal is met by this or more."""
    return lambda value: value >= limit


def at_most(limit: float) -> Goal:
    """The goal is met by this or less."""
    return lambda value: value <= limit


def line(what: str, values: Sequence[float], form: str = "{:.2f}", goal: tuple[str, Goal] | None = None) -> None:
    """One figure: its median, its range over the rounds, and the goal."""
    middle = median(values)
    spread = f"({form.format(min(values))} to {form.format(max(values))})" if len(values) > 1 else ""
    verdict = "" if goal is None else f"goal {goal[0]}: {'met' if goal[1](middle) else 'MISSED'}"
    _tell(f"  {what:<58} {form.format(middle):>9} {spread:<26} {verdict}".rstrip())


def _tell(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def ratios(ours: Sequence[float], theirs: Sequence[float]) -> list[float]:
    """Round by round."""
    return [mine / other for mine, other in zip(ours, theirs, strict=True)]


def percentile(values: Sequence[float], percent: float) -> float:
    """The value that so many per cent of the values do not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(len(ordered) * percent / 100))]
