"""Time since new and since overhaul of components, counted from where they were."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from fleet.life.meters import Amounts, Metered, added, metered
from fleet.life.spans import Span, spans_of
from fleet.models import Component, Overhaul

Spans = Mapping[UUID, Sequence[Span]]
Flown = Sequence[tuple[Span, Metered]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """What a component has run. A dimension that is missing is not known."""

    since_new: Amounts
    overhaul: Overhaul | None  # the latest
    since_overhaul: Amounts  # empty without overhaul
    uncovered: tuple[Span, ...]  # in these its aircraft's usage is not recorded from the beginning


def _clipped(spans: Spans, since: datetime | None, until: datetime | None) -> Spans:
    cut = {key: [span.within(since, until) for span in listed] for key, listed in spans.items()}
    return {key: [span for span in listed if span is not None] for key, listed in cut.items()}


def _measured(spans: Spans) -> Mapping[UUID, Flown]:
    flat = [(key, span) for key, listed in spans.items() for span in listed]
    found: dict[UUID, list[tuple[Span, Metered]]] = defaultdict(list)
    for (key, span), one in zip(flat, metered([span for _, span in flat]), strict=True):
        found[key].append((span, one))
    return found


def _when_it_came(component: Component, spans: Sequence[Span], amounts: Amounts, at: datetime | None) -> Amounts:
    """What was brought along; before the record of the component begins, only what was 0 then is known."""
    began = min([component.recorded_at, *(span.since for span in spans[:1])])
    return {name: amount for name, amount in amounts.items() if at is None or at >= began or amount == 0}


def _brought(component: Component, spans: Sequence[Span], at: datetime | None) -> Amounts:
    return _when_it_came(component, spans, component.known_amounts(), at) if component.history_known else {}


def _counted(brought: Amounts, flown: Flown) -> Amounts:
    if not all(one.covered for _, one in flown):
        return {}
    return added(brought, *(one.flown for _, one in flown))


def totals_of(components: Sequence[Component], at: datetime | None = None) -> dict[UUID, Amounts]:
    """Time since new of each component in every known dimension, now or at an instant; two queries."""
    every = spans_of([one.id for one in components])
    flown = _measured(_clipped(every, None, at))
    return {one.id: _counted(_brought(one, every[one.id], at), flown.get(one.id, ())) for one in components}


def _overhauls(components: Sequence[Component], at: datetime | None) -> dict[UUID, Overhaul]:
    """The latest of each."""
    rows = Overhaul.objects.filter(component__in=components)
    done = rows if at is None else rows.filter(counts_from__lte=at)
    latest = done.order_by("component_id", "-counts_from", "-recorded_at").distinct("component_id")
    return {one.component_id: one for one in latest}


def lives_of(components: Sequence[Component], at: datetime | None = None) -> dict[UUID, Life]:
    """The lives of components, now or at an instant; at most four queries for any number."""
    every = spans_of([one.id for one in components])
    spans = _clipped(every, None, at)
    overhauls = _overhauls(components, at)
    since = {key: _clipped({key: spans[key]}, one.counts_from, None)[key] for key, one in overhauls.items()}
    new, again = _measured(spans), _measured(since)

    def life_of(component: Component) -> Life:
        overhaul, placed = overhauls.get(component.id), every[component.id]
        run_since = _when_it_came(component, placed, overhaul.known_amounts(), at) if overhaul else {}
        flown = new.get(component.id, ())
        return Life(
            since_new=_counted(_brought(component, placed, at), flown),
            overhaul=overhaul,
            since_overhaul=_counted(run_since, again.get(component.id, ())),
            uncovered=tuple(span for span, one in flown if not one.covered),
        )

    return {one.id: life_of(one) for one in components}
