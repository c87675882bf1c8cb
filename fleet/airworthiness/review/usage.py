"""Check 1: hours and cycles are recorded."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from fleet.airworthiness.due.measures import Dimension, Readings
from fleet.airworthiness.due_sentences import amount_in_words, names_in_words
from fleet.airworthiness.review.check import Found, Table, day, since_then, tables
from fleet.airworthiness.review.known import ComponentKnown, Known
from fleet.airworthiness.rules.usage import USAGE_STALE
from fleet.airworthiness.sentences import capitalised

_OF_FLIGHT = (Dimension.AIRFRAME_MINUTES, Dimension.LAUNCHES, Dimension.LANDINGS)
_OF_ENGINE = (Dimension.ENGINE_MINUTES, Dimension.ENGINE_STARTS)


def amounts(readings: Readings) -> str:
    """All amounts that are not 0; ``not known`` without any reading."""
    if not readings:
        return "not known"
    told = [amount_in_words(one, readings[one]) for one in Dimension if readings.get(one)]
    return ", ".join(told) or "nothing yet"


def _open(known: Known) -> Iterator[str]:
    if known.totals is None:
        yield "The totals of the aircraft are not known: record its opening balance, then its flights."
    elif known.engine and not any(known.totals.get(one) for one in _OF_ENGINE):
        yield "The type has an engine, and neither time nor starts of it are recorded: record them."
    for reason in USAGE_STALE.judge(known.facts, known.now):
        yield f"{reason.message} {reason.cure}"
    for one in known.components:
        if Dimension.AIRFRAME_MINUTES not in one.since_new:
            yield f"{one.name}: its time since new is not known. Find it in its earlier records, or show that none is needed."


def _shown(one: Dimension, known: Known) -> bool:
    """Every aircraft flies; only some have an engine, or count cycles."""
    always = one in _OF_FLIGHT or (known.engine and one in _OF_ENGINE)
    return known.totals is not None and one in known.totals and bool(always or known.totals[one])


def _totals(known: Known) -> Table:
    totals = known.totals or {}
    shown = [one for one in Dimension if _shown(one, known)]
    return Table(
        title="Aircraft",
        columns=("Counted", "Total"),
        rows=tuple((capitalised(names_in_words([one])), amount_in_words(one, totals[one])) for one in shown),
    )


def _row(one: ComponentKnown) -> tuple[str, ...]:
    overhauled = (
        f"{day(one.overhauled_on)}: {amounts(one.since_overhaul)}" if one.overhauled_on else "no overhaul recorded"
    )
    return one.name, one.position, amounts(one.since_new), overhauled


def hours_and_cycles(known: Known) -> Found:
    """Totals of the aircraft and of what is in it."""
    components = Table(
        title="Components",
        columns=("Component", "Position", "Since new", "Since overhaul"),
        rows=tuple(map(_row, known.components)),
    )
    recorded_at = known.facts.usage_record.last_recorded_at
    notes = [f"Entries of usage {since_then(known.since)}: {known.flights}."]
    if recorded_at is not None:
        local = recorded_at.astimezone(ZoneInfo(known.facts.policy.time_zone))
        notes.append(f"Usage is recorded up to {local:%Y-%m-%d %H:%M}.")
    return Found(
        open=tuple(_open(known)),
        notes=tuple(notes),
        tables=tables(_totals(known), components),
        evidence=known.totals is not None,
    )
