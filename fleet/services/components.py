"""Components in the club's stores: taking them in, correcting what was said, their condition."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from fleet import events
from fleet.airworthiness.verdict import Verdict
from fleet.errors import Conflict, Forbidden, invalid
from fleet.models import (
    DIMENSIONS,
    Authorisation,
    Component,
    ComponentKind,
    Membership,
    Privilege,
)
from fleet.permissions import INSPECTORS, KEEPERS, require_role, today_in
from fleet.services import stores
from fleet.services.register import apply_changes

Condition = Component.Condition
UNKNOWN_HISTORY = "Information is missing: its history is not known (ML.A.504)."


def _check_made(made_on: date | None, by: Membership, at: datetime) -> None:
    if made_on is not None and made_on > today_in(by.club, at):
        raise invalid("/manufactured_on", "in_future", "This day has not come yet.")


def _check_history(history_known: bool, brought_forward: stores.Said) -> None:
    if not history_known and any(amount is not None for amount in brought_forward.values()):
        raise invalid("/history_known", "contradiction", "Leave out the amounts, or say that the history is known.")


@transaction.atomic
def add(
    *,
    kind: ComponentKind,
    by: Membership,
    at: datetime,
    serial_number: str,
    history_known: bool,
    brought_forward: stores.Said,
    manufactured_on: date | None = None,
    release_document: str = "",
    component_id: UUID | None = None,
) -> Component:
    """A new component with what it had run when it came. Without known history it is unserviceable."""
    require_role(by, KEEPERS, "add components")
    _check_made(manufactured_on, by, at)
    _check_history(history_known, brought_forward)
    said = {
        "serial_number": serial_number,
        "history_known": history_known,
        "manufactured_on": manufactured_on,
        "release_document": release_document,
        **stores.in_every_dimension(brought_forward),
    }
    component = Component.objects.create(
        id=component_id or uuid4(),
        kind=kind,
        condition=Condition.SERVICEABLE if history_known else Condition.UNSERVICEABLE,
        condition_reason="" if history_known else UNKNOWN_HISTORY,
        recorded_by=by,
        recorded_at=at,
        **said,
    )
    events.append_for_club(by.club, [stores.entry("component_add", component, by, at, said)])
    return component


@transaction.atomic
def correct(
    *, component_id: UUID, by: Membership, at: datetime, changes: Mapping[str, Any]
) -> tuple[Component, Verdict | None]:
    """Correct what was said when a component was taken in; the event keeps what it said before.

    ``changes``: manufactured_on, release_document, history_known, and amounts by dimension. Declaring the history of an
    installed component unknown is not possible: it is removed first. Known at last, it stays unserviceable until an
    inspector says otherwise.
    """
    require_role(by, stores.FITTERS, "correct components")
    stores.lock(by)
    component = stores.component_of(component_id, by)
    aircraft = stores.locked_home(component, by, at)
    _check_made(changes.get("manufactured_on"), by, at)
    wanted = {**_lost_history(component, changes), **changes}
    done = apply_changes(component, wanted)
    _check_history(component.history_known, component.known_amounts())
    told = stores.entry("component_change", component, by, at, done) if done else None
    return component, stores.conclude(aircraft, told, by, at)


def _lost_history(component: Component, changes: Mapping[str, Any]) -> dict[str, Any]:
    """What follows when the history turns out not to be known."""
    if changes.get("history_known", True) or not component.history_known:
        return {}
    stores.require_removed(component)
    lost: dict[str, Any] = dict.fromkeys(DIMENSIONS)
    if component.condition == Condition.SERVICEABLE:
        lost |= {"condition": Condition.UNSERVICEABLE, "condition_reason": UNKNOWN_HISTORY}
    return lost


def _require_release(by: Membership, at: datetime) -> None:
    """To declare something serviceable is to release it."""
    today = today_in(by.club, at)
    valid = Authorisation.objects.filter(
        membership=by, revoked_at=None, privileges__contains=[Privilege.RELEASE.value]
    ).filter(valid_from__lte=today, valid_until__gte=today)
    if not valid.exists():
        raise Forbidden(
            "authorisation",
            "No authorisation of yours to release to service is in date. Ask an inspector who holds one.",
        )


@transaction.atomic
def set_condition(*, component_id: UUID, by: Membership, at: datetime, condition: str, reason: str) -> Component:
    """Declare a component that is not installed serviceable, unserviceable or retired. Retired is for ever."""
    require_role(by, INSPECTORS, "declare the condition of components")
    stores.lock(by)
    component = stores.component_of(component_id, by)
    if component.condition == Condition.RETIRED:
        raise Conflict("retired", "A retired component never goes back into service.", {"condition": Condition.RETIRED})
    stores.require_removed(component)
    if condition == Condition.SERVICEABLE:
        if not component.history_known:
            raise Conflict("history_unknown", "Without known history a component stays unserviceable (ML.A.504).")
        _require_release(by, at)
    before = component.condition
    component.condition, component.condition_reason = condition, reason
    component.save(update_fields=["condition", "condition_reason"])
    data = {"before": before, "condition": condition, "reason": reason}
    events.append_for_club(by.club, [stores.entry("component_condition", component, by, at, data)])
    return component
