"""Facts that the register itself provides: the club's policy, usage, documents."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F

from fleet.airworthiness.facts import ClubPolicy, DocumentFact
from fleet.models import Aircraft, Document

PROVIDES = ("policy", "usage", "documents")


def _documents(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, list[Document]]:
    """Of each kind the document that reaches furthest; one without an expiry reaches furthest of all."""
    furthest = (
        Document.objects.filter(aircraft_id__in=aircraft_ids, withdrawn_at=None)
        .select_related("aircraft__club")
        .order_by("aircraft_id", "kind", F("expires_on").desc(nulls_first=True), "id")
        .distinct("aircraft_id", "kind")
    )
    found: dict[UUID, list[Document]] = defaultdict(list)
    for document in furthest:
        found[document.aircraft_id].append(document)
    return found


def _policies(aircraft_ids: Sequence[UUID], documents: Mapping[UUID, list[Document]]) -> Mapping[UUID, ClubPolicy]:
    """The club comes along with the documents; only for aircraft without any it is read for itself."""
    policies = {aircraft_id: listed[0].aircraft.club.policy() for aircraft_id, listed in documents.items()}
    others = [aircraft_id for aircraft_id in aircraft_ids if aircraft_id not in policies]
    if others:
        rows = Aircraft.objects.filter(id__in=others).select_related("club")
        policies |= {aircraft.id: aircraft.club.policy() for aircraft in rows}
    return policies


def _fact(document: Document) -> DocumentFact:
    return DocumentFact(id=str(document.id), kind=document.kind, expires_on=document.expires_on)


def gather(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    """At most two queries. Usage is not recorded yet: unknown, so that a limit in hours or launches grounds."""
    documents = _documents(aircraft_ids)
    return {
        aircraft_id: {
            "policy": policy,
            "usage": None,
            "documents": tuple(_fact(document) for document in documents.get(aircraft_id, ())),
        }
        for aircraft_id, policy in _policies(aircraft_ids, documents).items()
    }
