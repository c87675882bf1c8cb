"""Documents, components, positions and usage as the review knows them."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date

from django.db.models import Q

from fleet import life
from fleet.airworthiness.due import Dimension, Readings
from fleet.airworthiness.review.known import ComponentKnown, PaperKnown
from fleet.models import Aircraft, Component, Document, Installation, Position, UsageEntry
from fleet.permissions import today_in
from fleet.services.certificates import CERTIFICATE, extensions_made
from inspections.services.review.from_programme import named


def readings(amounts: dict[str, int]) -> Readings:
    """Amounts by dimension."""
    return {Dimension(name): amount for name, amount in amounts.items()}


def papers(aircraft: Aircraft) -> Iterator[PaperKnown]:
    """Documents that were not withdrawn. One query."""
    rows = Document.objects.filter(aircraft=aircraft, withdrawn_at=None).select_related("extends__extends")
    for one in rows.order_by("kind", "issued_on", "id"):
        yield PaperKnown(
            id=str(one.id),
            kind=one.kind,
            reference=one.reference,
            issued_on=one.issued_on,
            expires_on=one.expires_on,
            extensions_made=extensions_made(one),
        )


def last_review(known: Sequence[PaperKnown]) -> date | None:
    """Day of issue of the newest certificate that is no extension."""
    reviewed = [one.issued_on for one in known if one.kind == CERTIFICATE and not one.extensions_made]
    return max(reviewed, default=None)


def components(aircraft: Aircraft, inside: Sequence[Installation]) -> Iterator[ComponentKnown]:
    """What is in the aircraft, with what it has run. At most four queries."""
    lives = life.lives_of([one.component for one in inside])
    for one in inside:
        component, lived = one.component, lives[one.component_id]
        yield ComponentKnown(
            name=named(component),
            position=one.position.title,
            installed_on=today_in(aircraft.club, one.installed_at),
            serviceable=component.condition == Component.Condition.SERVICEABLE,
            condition=component.condition,
            history_known=component.history_known,
            release_document=component.release_document,
            since_new=readings(lived.since_new),
            overhauled_on=lived.overhaul.done_on if lived.overhaul else None,
            since_overhaul=readings(lived.since_overhaul),
        )


def required_positions(aircraft: Aircraft, inside: Sequence[Installation]) -> int:
    """How many there are on the aircraft and on what is in it. One query."""
    kinds = Counter(one.component.kind_id for one in inside)
    rows = Position.objects.filter(
        Q(aircraft_type_id=aircraft.aircraft_type_id) | Q(parent_kind__in=kinds), required=True
    )
    counts: list[int] = [kinds[kind] if kind else 1 for kind in rows.values_list("parent_kind_id", flat=True)]
    return sum(counts)


def flights(aircraft: Aircraft, since: date | None) -> int:
    """Usage entries that count, without opening balances. One query."""
    rows = UsageEntry.objects.filter(aircraft=aircraft, corrects=None, corrected_by=None)
    rows = rows.exclude(source=UsageEntry.Source.OPENING)
    return rows.count() if since is None else rows.filter(flown_on__gte=since).count()
