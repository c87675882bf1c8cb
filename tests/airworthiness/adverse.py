"""Adverse changes to facts: what makes an aircraft worse, or less known."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from fleet.airworthiness.facts import DefectFact, DeferralFact, Facts, ItemFact
from tests.airworthiness import strategies

Change = Callable[[Facts], Facts]

CRITICAL = ItemFact(code="x", title="Main pin", critical=True, deferrable=False)


def more(field: str, strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Change]:
    """One more entry of a list, anywhere in it."""

    def change(entry: Any, first: bool) -> Change:
        def added(known: Facts) -> Facts:
            listed = getattr(known, field)
            changed: dict[str, Any] = {field: (entry, *listed) if first else (*listed, entry)}
            return replace(known, **changed)

        return added

    return st.builds(change, strategy, st.booleans())


def to_defects(act: Callable[[DefectFact], DefectFact]) -> Change:
    """The same change to every defect."""
    return lambda known: replace(known, defects=tuple(act(defect) for defect in known.defects))


def to_deferrals(act: Callable[[DeferralFact], DeferralFact]) -> Change:
    """The same change to every deferral."""
    return to_defects(
        lambda defect: replace(defect, deferral=None if defect.deferral is None else act(defect.deferral))
    )


def rigged_later(known: Facts) -> Facts:
    if known.rigging is None:
        return known
    return replace(known, rigging=replace(known.rigging, occurred_at=known.rigging.occurred_at + timedelta(hours=5)))


def ballast_forgotten(known: Facts) -> Facts:
    if known.last_daily is None:
        return known
    return replace(known, last_daily=replace(known.last_daily, ballast_known=False))


def documents_end_earlier(known: Facts) -> Facts:
    ended = [
        replace(one, expires_on=(one.expires_on or date(2026, 4, 5)) - timedelta(days=9)) for one in known.documents
    ]
    return replace(known, documents=tuple(ended))


def more_is_required(known: Facts) -> Facts:
    return replace(known, policy=replace(known.policy, required_documents=tuple(strategies.KINDS)))


def limits_shrink(known: Facts) -> Facts:
    return replace(known, policy=replace(known.policy, triage_limit_days=0, decision_limit_days=0))


def flown_more(known: Facts) -> Facts:
    if known.usage is None:
        return known
    flown = replace(known.usage, airframe_minutes=known.usage.airframe_minutes + 2, launches=known.usage.launches + 1)
    return replace(known, usage=flown)


def known_longer(defect: DefectFact) -> DefectFact:
    return replace(defect, reported_at=defect.reported_at - timedelta(days=2))


CHANGES: list[Change] = [
    rigged_later,
    ballast_forgotten,
    documents_end_earlier,
    more_is_required,
    limits_shrink,
    flown_more,
    lambda known: replace(known, rigging_checked_at=None),
    lambda known: replace(known, documents=known.documents[1:]),
    lambda known: replace(known, usage=None),
    lambda known: replace(known, last_complete_daily=None),
    to_defects(known_longer),
    to_defects(lambda defect: replace(defect, item=None)),
    to_defects(lambda defect: replace(defect, item=CRITICAL)),
    to_defects(lambda defect: replace(defect, assessment="hazard")),
    to_defects(lambda defect: replace(defect, work_unreleased=True)),
    to_defects(lambda defect: replace(defect, independent_inspection=None)),
    to_defects(lambda defect: replace(defect, independent_inspection="rejected")),
    to_deferrals(lambda deferral: replace(deferral, in_force=False, ended_expired=True)),
    to_deferrals(lambda deferral: replace(deferral, until_at=strategies.MIDDLE - timedelta(days=20))),
]

additions = st.one_of(
    more("defects", strategies.defects),
    more("occurrences", strategies.occurrences),
    more("cancellations", strategies.cancellations),
    more("item_failures", strategies.item_failures),
)
changes = st.one_of(additions, st.sampled_from(CHANGES))
