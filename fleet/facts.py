"""Facts that the register itself provides: the club's policy, usage, documents."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F

from fleet.airworthiness.facts import DocumentFact
from fleet.models import Aircraft, Document

PROVIDES = ("policy", "usage", "documents")


def _documents(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, tuple[DocumentFact, ...]]:
    """Of each kind the document that reaches furthest; one without an expiry reaches furthest of all."""
    furthest = (
        Document.objects.filter(aircraft_id__in=aircraft_ids, withdrawn_at=None)
        .order_by("aircraft_id", "kind", F("expires_on").desc(nulls_first=True), "id")
        .distinct("aircraft_id", "kind")
    )
    found: dict[UUID, list[DocumentFact]] = defaultdict(list)
    for document in furthest:
        found[document.aircraft_id].append(
            DocumentFact(id=str(document.id), kind=document.kind, expires_on=document.expires_on)
        )
    return {aircraft_id: tuple(listed) for aircraft_id, listed in found.items()}


def gather(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    """Two queries. Usage is not recorded yet: unknown, so that a limit in hours or launches grounds."""
    documents = _documents(aircraft_ids)
    return {
        aircraft.id: {
            "policy": aircraft.club.policy(),
            "usage": None,
            "documents": documents.get(aircraft.id, ()),
        }
        for aircraft in Aircraft.objects.filter(id__in=aircraft_ids).select_related("club")
    }
