"""Whether the next interval counts from the scheduled point or from where the work was done."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from fleet.airworthiness.due.schedule import Counting


class Punctuality(NamedTuple):
    """How work done compares to its scheduled point, in one dimension."""

    reached: bool  # not early
    inside_window: bool  # not further from it than the tolerance, on either side
    far_too_early: bool  # by more than half an interval


_KEEPS: Mapping[Counting, Callable[[Punctuality], bool]] = MappingProxyType(
    {
        Counting.FROM_ACTUAL: lambda done: False,
        Counting.FROM_SCHEDULED_INSIDE_WINDOW: lambda done: done.inside_window,
        Counting.FROM_SCHEDULED: lambda done: not done.far_too_early,
        Counting.OVERRUN_DEDUCTED: lambda done: done.reached,
    }
)


def keeps_schedule(counting: Counting, done: Punctuality) -> bool:
    """Whether the scheduled point stays the one to count from."""
    return _KEEPS[counting](done)
