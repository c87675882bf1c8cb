"""Overhauls of components."""

from datetime import date, datetime, time
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.db import transaction

from fleet import events, life
from fleet.errors import invalid
from fleet.models import DIMENSIONS, Component, Installation, Membership, Overhaul
from fleet.permissions import require_role, today_in
from fleet.services import stores


def _counts_from(component: Component, by: Membership, at: datetime, done_on: date) -> datetime:
    """The instant after which flying counts since the overhaul. Raises Invalid for a day on which it cannot have been."""
    if done_on > today_in(by.club, at):
        raise invalid("/done_on", "in_future", "This day has not come yet.")
    zone = ZoneInfo(by.club.time_zone)
    begins = datetime.combine(done_on, time(), zone)
    removal = Installation.objects.filter(component=component).order_by("-installed_at").first()
    overhaul = Overhaul.objects.filter(component=component).order_by("-done_on").first()
    removed_at = removal.removed_at if removal else None
    if removed_at is not None and removed_at.astimezone(zone).date() > done_on:
        raise invalid(
            "/done_on", "out_of_order", "It was installed then, or has been since. Give a day after its removal."
        )
    if overhaul is not None and overhaul.done_on > done_on:
        raise invalid("/done_on", "out_of_order", f"It was overhauled on {overhaul.done_on.isoformat()}, after that.")
    return begins if removed_at is None else max(begins, removed_at)


def _run_since(component: Component, brought_forward: stores.Said | None) -> dict[str, int | None]:
    """What it had run since this overhaul when it came; nothing if it came from it or was overhauled here."""
    if brought_forward is None:
        return dict.fromkeys(DIMENSIONS, 0)
    if Installation.objects.filter(component=component).exists():
        detail = "Leave this out: what it has run since is counted from where it was installed."
        raise invalid("/brought_forward", "counted", detail)
    new = component.known_amounts()
    for name, amount in brought_forward.items():
        if amount is not None and name in new and amount > new[name]:
            raise invalid(f"/brought_forward/{name}", "beyond", f"It had run {new[name]} since new.")
    return stores.in_every_dimension(brought_forward)


@transaction.atomic
def record(
    *,
    component_id: UUID,
    by: Membership,
    at: datetime,
    done_on: date,
    release_document: str,
    brought_forward: stores.Said | None = None,
    overhaul_id: UUID | None = None,
) -> Overhaul:
    """Record an overhaul of a component that is not installed: time since overhaul starts anew, time since new goes on.

    ``brought_forward``: what a component that was never installed here had run since this overhaul when it came.
    """
    require_role(by, stores.FITTERS, "record overhauls")
    stores.lock(by)
    component = stores.component_of(component_id, by)
    stores.require_removed(component)
    done = Overhaul.objects.create(
        id=overhaul_id or uuid4(),
        component=component,
        done_on=done_on,
        counts_from=_counts_from(component, by, at, done_on),
        totals=life.totals_of([component])[component.id],
        release_document=release_document,
        recorded_by=by,
        recorded_at=at,
        **_run_since(component, brought_forward),
    )
    data = {"done_on": done_on, "totals": done.totals, "release_document": release_document}
    events.append_for_club(by.club, [stores.entry("component_overhaul", component, by, at, data)])
    return done
