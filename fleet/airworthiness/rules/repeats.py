"""The same item failing again and again."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from fleet.airworthiness.facts import Facts, ItemFailures
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.verdict import Effect, Reason


def repeats_within(numbers: Iterable[int], count: int, window: int) -> tuple[int, ...]:
    """The flight numbers at which the item had failed ``count`` times within ``window`` flights, that one included.

    Adding a failure never removes a number from the answer. Raises ValueError unless both settings are positive.
    Criterion: operator's practice, its figures are settings.
    """
    if count < 1 or window < 1:
        raise ValueError("Count and window of repeated defects must be at least 1: correct the settings of the club.")
    ordered = sorted(numbers)
    spans = zip(ordered, ordered[count - 1 :], strict=False)  # first and last of each run of that many failures
    return tuple(dict.fromkeys(last for first, last in spans if last - first < window))


def _window(facts: Facts) -> timedelta:
    return timedelta(days=facts.policy.repeat_within_days)


def _repeats_in_days(failures: ItemFailures, facts: Facts, now: datetime) -> bool:
    recent = [failed_at for failed_at in failures.failed_at if now < failed_at + _window(facts)]
    return len(recent) >= facts.policy.repeat_count


def _repeats_in_flights(failures: ItemFailures, facts: Facts) -> bool:
    """Whether it failed often enough within the window, and the aircraft has not outflown that window since."""
    window = facts.policy.repeat_within_flights
    known = [number for number in failures.failed_flights if number is not None]
    flagged = repeats_within(known, facts.policy.repeat_count, window)
    return any(facts.usage is None or number > facts.usage.launches - window for number in flagged)


def _repeat_defect(facts: Facts, now: datetime) -> Iterator[Reason]:
    policy = facts.policy
    for failures in facts.item_failures:
        if _repeats_in_flights(failures, facts) or _repeats_in_days(failures, facts, now):
            yield REPEAT_DEFECT.reason(
                Effect.ADVISES,
                ("item", failures.item.code),
                message=f"{failures.item.title} has been reported defective at least {policy.repeat_count} times within"
                f" {policy.repeat_within_days} days or {policy.repeat_within_flights} flights.",
                cure="Have the cause found: it may not be where the earlier work was done.",
            )


def _turns(facts: Facts) -> list[datetime]:
    return [failed_at + _window(facts) for failures in facts.item_failures for failed_at in failures.failed_at]


REPEAT_DEFECT = Rule(
    code="repeat_defect",
    title="Item that fails repeatedly",
    effects=(Effect.ADVISES,),
    citation="club practice",
    judge=_repeat_defect,
    turns=_turns,
)
