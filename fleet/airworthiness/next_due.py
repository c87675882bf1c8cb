"""The next date on which something on an aircraft ends."""

from collections.abc import Iterator
from datetime import datetime

from fleet.airworthiness.facts import Facts
from fleet.airworthiness.limits import end_of_day
from fleet.airworthiness.sentences import capitalised, words
from fleet.airworthiness.verdict import NextDue


def _ends(facts: Facts) -> Iterator[tuple[datetime, NextDue]]:
    """Everything that ends by date, with the first instant at which it is over."""
    for defect in facts.defects:
        deferral = defect.deferral
        if deferral is None or not deferral.in_force or deferral.until_at is None or deferral.until_date is None:
            continue
        title = f"Deferral of defect {defect.number}"
        yield (
            deferral.until_at,
            NextDue(title=title, on=deferral.until_date, subject_type="defect", subject_id=defect.id),
        )
    for document in facts.documents:
        if document.expires_on is not None:
            title = capitalised(words(document.kind))
            due = NextDue(title=title, on=document.expires_on, subject_type="document", subject_id=document.id)
            yield end_of_day(document.expires_on, facts.policy.time_zone), due


def next_due(facts: Facts, now: datetime) -> NextDue | None:
    """The soonest end still ahead: of a deferral in force, or of a document whether required or not."""
    ahead = [due for over_at, due in _ends(facts) if over_at > now]
    return min(ahead, key=lambda due: (due.on, due.title, due.subject_id), default=None)


def turns(facts: Facts) -> list[datetime]:
    """The instants at which time alone changes the answer."""
    return [over_at for over_at, _due in _ends(facts)]
