"""Reads of the register, scoped to a club."""

from collections.abc import Collection, Mapping
from datetime import date
from uuid import UUID

from django.db.models import Q, QuerySet, Sum
from django.db.models.functions import TruncMonth

from fleet.models import (
    DIMENSIONS,
    Aircraft,
    AircraftType,
    AssessmentPeriod,
    Attachment,
    Authorisation,
    Component,
    ComponentKind,
    Document,
    Event,
    Installation,
    Item,
    Membership,
    Notification,
    Position,
    UsageEntry,
)
from fleet.models.usage import LAUNCH_KINDS


def aircraft_types_of(club_id: UUID) -> QuerySet[AircraftType]:
    """Every aircraft type of the club."""
    return AircraftType.objects.filter(club_id=club_id)


def items_of(club_id: UUID, type_id: UUID) -> QuerySet[Item]:
    """The catalogue of one of the club's types."""
    return Item.objects.filter(aircraft_type__club_id=club_id, aircraft_type_id=type_id)


def aircraft_of(club_id: UUID) -> QuerySet[Aircraft]:
    """Every aircraft of the club with its stored verdict."""
    return Aircraft.objects.filter(club_id=club_id).select_related("airworthiness")


def periods_of(club_id: UUID) -> QuerySet[AssessmentPeriod]:
    """What was shown for the club's aircraft, with the verdict stored now."""
    return AssessmentPeriod.objects.filter(aircraft__club_id=club_id).select_related("aircraft__airworthiness")


def documents_of(club_id: UUID) -> QuerySet[Document]:
    """Every document of the club's aircraft, withdrawn ones included."""
    return Document.objects.filter(aircraft__club_id=club_id).select_related("aircraft", "recorded_by__person")


def members_of(club_id: UUID) -> QuerySet[Membership]:
    """Every member of the club, disabled ones included."""
    return Membership.objects.filter(club_id=club_id).select_related("person")


def authorisations_of(club_id: UUID) -> QuerySet[Authorisation]:
    """Every authorisation of the club's members, ended ones included. Two queries."""
    return (
        Authorisation.objects.filter(membership__club_id=club_id)
        .select_related("membership__person")
        .prefetch_related("aircraft_types")
    )


def events_of(club_id: UUID) -> QuerySet[Event]:
    """The club's record, its aircraft's chains included."""
    return Event.objects.filter(club_id=club_id)


def notifications_for(member: Membership) -> QuerySet[Notification]:
    """What was flagged to one member."""
    return Notification.objects.filter(recipient=member).select_related("aircraft")


def attachments_of(club_id: UUID) -> QuerySet[Attachment]:
    """Every attachment of the club's aircraft."""
    return Attachment.objects.filter(club_id=club_id).select_related("uploaded_by__person")


def usage_entries_of(club_id: UUID) -> QuerySet[UsageEntry]:
    """Every usage entry of the club's aircraft, corrected ones and corrections included."""
    return UsageEntry.objects.filter(aircraft__club_id=club_id).select_related(
        "aircraft", "recorded_by__person", "corrected_by"
    )


def usage_by_month(aircraft_id: UUID, since: date) -> Mapping[date, Mapping[str, int]]:
    """What an aircraft flew in each month (by its first day); opening balances are no flying. One query."""
    opening, counted = UsageEntry.Source.OPENING, (*DIMENSIONS, *LAUNCH_KINDS)
    rows = (
        UsageEntry.objects.filter(aircraft_id=aircraft_id, flown_on__gte=since)
        .exclude(Q(source=opening) | Q(corrects__source=opening))
        .values(month=TruncMonth("flown_on"))
        .values_list("month", *(Sum(name) for name in counted))
    )
    return {month: dict(zip(counted, sums, strict=True)) for month, *sums in rows}


def component_kinds_of(club_id: UUID) -> QuerySet[ComponentKind]:
    """Every part number of the club."""
    return ComponentKind.objects.filter(club_id=club_id)


def positions_of(club_id: UUID) -> QuerySet[Position]:
    """Every position of the club's types and component kinds, with what fits. Two queries."""
    of_club = Q(aircraft_type__club_id=club_id) | Q(parent_kind__club_id=club_id)
    return Position.objects.filter(of_club).prefetch_related("kinds")


def components_of(club_id: UUID) -> QuerySet[Component]:
    """Every component of the club."""
    return Component.objects.filter(kind__club_id=club_id).select_related("kind", "recorded_by__person")


def installations_of(component_ids: Collection[UUID]) -> QuerySet[Installation]:
    """Where components are and were."""
    return Installation.objects.filter(component_id__in=component_ids).select_related(
        "position", "aircraft", "parent", "installed_by__person", "removed_by__person"
    )
