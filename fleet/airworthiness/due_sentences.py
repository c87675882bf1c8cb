"""How reasons tell limits."""

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

from fleet.airworthiness.due.limit import Limits
from fleet.airworthiness.due.measures import CALENDAR, Dimension, Measure
from fleet.airworthiness.due_facts import DueFact
from fleet.airworthiness.sentences import hours


def _counted(singular: str, plural: str) -> Callable[[int], str]:
    return lambda amount: f"{amount} {singular if amount == 1 else plural}"


_AMOUNTS: Mapping[Dimension, Callable[[int], str]] = MappingProxyType(
    {
        Dimension.AIRFRAME_MINUTES: lambda minutes: f"{hours(minutes)} of flight",
        Dimension.LAUNCHES: _counted("launch", "launches"),
        Dimension.LANDINGS: _counted("landing", "landings"),
        Dimension.ENGINE_MINUTES: lambda minutes: f"{hours(minutes)} of the engine",
        Dimension.ENGINE_STARTS: _counted("engine start", "engine starts"),
        Dimension.CYCLES: _counted("cycle", "cycles"),
    }
)
_NAMES: Mapping[Measure, str] = MappingProxyType(
    {
        Dimension.AIRFRAME_MINUTES: "flight time",
        Dimension.LAUNCHES: "number of launches",
        Dimension.LANDINGS: "number of landings",
        Dimension.ENGINE_MINUTES: "engine time",
        Dimension.ENGINE_STARTS: "number of engine starts",
        Dimension.CYCLES: "number of cycles",
        CALENDAR: "date",
    }
)


def task_named(fact: DueFact) -> str:
    """The task, and the component it is about."""
    return fact.title if fact.subject_type == "aircraft" else f"{fact.title}, {fact.subject_label}"


def amount_in_words(dimension: Dimension, amount: int) -> str:
    """``70:10 h of flight``, ``1 launch``."""
    return _AMOUNTS[dimension](amount)


def names_in_words(measures: Iterable[Measure]) -> str:
    """``flight time and number of launches``."""
    return " and ".join(_NAMES[measure] for measure in measures)


def due_in_words(limits: Limits) -> str:
    """Limits without tolerance: ``by the end of 2026-05-10 or at 70:10 h of flight, whichever comes first``."""
    by_date = [] if limits.calendar is None else [limits.calendar.due_on.isoformat()]
    return _in_words(by_date, [amount_in_words(limit.dimension, limit.due) for limit in limits.usage])


def hard_in_words(limits: Limits) -> str:
    """Limits with tolerance."""
    by_date = [] if limits.calendar is None else [limits.calendar.hard_on.isoformat()]
    return _in_words(by_date, [amount_in_words(limit.dimension, limit.hard) for limit in limits.usage])


def _in_words(by_date: list[str], by_usage: list[str]) -> str:
    told = [f"by the end of {day}" for day in by_date] + [f"at {amount}" for amount in by_usage]
    return " or ".join(told) + (", whichever comes first" if len(told) > 1 else "")
