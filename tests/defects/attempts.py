"""Each act of the table with everything it needs, by anybody, so that only one thing at a time is wrong."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from defects import selectors
from defects.lifecycle import (
    DEFER,
    INSPECT_INDEPENDENTLY,
    RECTIFY,
    RELEASE,
    TRIAGE,
    WITHDRAW_DEFERRAL,
    Act,
    State,
)
from defects.models import Defect
from defects.services import decisions, work
from fleet.models import Aircraft, Club, Membership
from fleet.permissions import today_in
from tests.factories import (
    NOW,
    ClubFactory,
    InspectorFactory,
    assessed,
    deferred,
    make_aircraft,
    no_defect,
    rectified,
    released,
    reported,
)
from tests.scenes import FREE, one_of_each_role, scene

LATER = NOW + timedelta(hours=1)  # after everything that led the defect into its state, and on the same flying day

IN_STATE: dict[State, Callable[..., Defect]] = {
    State.REPORTED: reported,
    State.ASSESSED: assessed,
    State.DEFERRED: deferred,
    State.RECTIFIED: rectified,
    State.RELEASED: released,
    State.NO_DEFECT: no_defect,
}

SERVICES: dict[str, Callable[..., Any]] = {
    TRIAGE.code: decisions.triage,
    DEFER.code: decisions.defer,
    WITHDRAW_DEFERRAL.code: decisions.withdraw_deferral,
    RECTIFY.code: work.rectify,
    INSPECT_INDEPENDENTLY.code: work.inspect_independently,
    RELEASE.code: work.release,
}

VARIANTS: dict[str, tuple[dict[str, Any], ...]] = {  # every way to take an act that may lead to different states
    TRIAGE.code: tuple({"assessment": code} for code in ("hazard", "no_hazard", "no_defect")),
    INSPECT_INDEPENDENTLY.code: tuple({"outcome": code} for code in ("accepted", "rejected")),
}


def variants_of(act: Act) -> tuple[dict[str, Any], ...]:
    """Changes of the payload that may lead elsewhere."""
    return VARIANTS.get(act.code, ({},))


def payload(act: Act, *, club: Club, supervisor: Membership, at: datetime = LATER) -> dict[str, Any]:
    """Everything the act needs on a defect of a deferrable item, with an inspector to supervise."""
    reason = "Looked at it closely."
    by_act: dict[str, dict[str, Any]] = {
        TRIAGE.code: {"assessment": "no_hazard", "justification": reason},
        DEFER.code: {
            "limitations": ["no aerobatics"],
            "basis": "club defect policy",
            "justification": reason,
            "until_date": today_in(club, at) + timedelta(days=5),
        },
        WITHDRAW_DEFERRAL.code: {"justification": reason},
        RECTIFY.code: {
            "work_done": "Taped anew.",
            "data_used": "Maintenance manual issue 2, chapter 4",
            "performed_at": at,
            "supervised_by": supervisor.id,
        },
        INSPECT_INDEPENDENTLY.code: {"outcome": "accepted", "remark": "Sound."},
        RELEASE.code: {"reauthenticated": True, "statement_accepted": True},
    }
    return by_act[act.code]


def attempt(
    act: Act,
    defect: Defect,
    *,
    by: Membership,
    supervisor: Membership | None = None,
    at: datetime = LATER,
    **changes: Any,
) -> Any:
    """Take the act with all it needs, but for the changes."""
    club = defect.aircraft.club
    sent = payload(act, club=club, supervisor=supervisor or by, at=at) | changes
    return partial(SERVICES[act.code], defect_id=defect.id, by=by, at=at)(**sent)


def defect_in(state: State) -> Defect:
    """A defect of a deferrable item in this state, in a club with one of each role."""

    def build() -> None:
        one_of_each_role(IN_STATE[state](make_aircraft(ClubFactory.create())).aircraft.club)

    scene(f"a defect {state}", build)
    return selectors.defects_of(Club.objects.get().id).get()


def free_inspector(aircraft: Aircraft) -> Membership:
    """An authorised inspector who has had no hand in anything."""
    found = Membership.objects.filter(id=FREE).select_related("person", "club").first()
    return found or InspectorFactory.create(club=aircraft.club, member_id=FREE)
