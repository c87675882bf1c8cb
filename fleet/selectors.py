"""Reads of the register, scoped to a club."""

from uuid import UUID

from django.db.models import QuerySet

from fleet.models import (
    Aircraft,
    AircraftType,
    AssessmentPeriod,
    Attachment,
    Authorisation,
    Document,
    Event,
    Item,
    Membership,
    Notification,
)


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
