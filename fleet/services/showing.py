"""What a look at stored verdicts shows: one that has run out is evaluated anew, in memory, before anybody sees it."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from fleet import assessment
from fleet.models import Aircraft, AirworthinessState


def has_run_out(state: AirworthinessState, at: datetime) -> bool:
    """Whether time has changed what is stored."""
    return state.valid_until is not None and state.valid_until <= at


def shown_now(states: Iterable[AirworthinessState], at: datetime) -> dict[UUID, dict[str, Any]]:
    """By aircraft what a look shows. No query unless a verdict has run out, then a constant number."""
    listed = list(states)
    expired = [state for state in listed if has_run_out(state, at)]
    anew = assessment.shown_many(expired, at)
    stored = {
        state.aircraft_id: {name: getattr(state, name) for name in assessment.SHOWN}
        for state in listed
        if state.aircraft_id not in anew
    }
    return stored | anew


def with_status(rows: QuerySet[Aircraft], status: str, at: datetime) -> QuerySet[Aircraft]:
    """Those that show this status at the instant. One query more, a constant number if verdicts have run out."""
    run_out = assessment.due_for_reassessment(at)
    expired = AirworthinessState.objects.filter(aircraft__in=rows.filter(run_out).values("id"))
    anew = assessment.shown_many(list(expired), at)
    matching = [aircraft_id for aircraft_id, shown in anew.items() if shown["status"] == status]
    return rows.filter((Q(airworthiness__status=status) & ~run_out) | Q(id__in=matching))
