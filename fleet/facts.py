"""Facts that the register itself provides: the club's policy, usage, documents."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F

from fleet.airworthiness.facts import DocumentFact, UsageFact
from fleet.models import Aircraft, Document, UsageTotal

PROVIDES = ("policy", "usage", "documents")


def _documents(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, list[Document]]:
    """Of each kind the document that reaches furthest; one without an expiry reaches furthest of all."""
    furthest = (
        Document.objects.filter(aircraft_id__in=aircraft_ids, withdrawn_at=None)
        .select_related("aircraft__club", "aircraft__usage_total")
        .order_by("aircraft_id", "kind", F("expires_on").desc(nulls_first=True), "id")
        .distinct("aircraft_id", "kind")
    )
    found: dict[UUID, list[Document]] = defaultdict(list)
    for document in furthest:
        found[document.aircraft_id].append(document)
    return found


def _aircraft(aircraft_ids: Sequence[UUID], documents: Mapping[UUID, list[Document]]) -> Mapping[UUID, Aircraft]:
    """Club and usage come along with the documents; only for aircraft without any they are read for themselves."""
    found = {aircraft_id: listed[0].aircraft for aircraft_id, listed in documents.items()}
    others = [aircraft_id for aircraft_id in aircraft_ids if aircraft_id not in found]
    if others:
        rows = Aircraft.objects.filter(id__in=others).select_related("club", "usage_total")
        found |= {aircraft.id: aircraft for aircraft in rows}
    return found


def _usage(total: UsageTotal) -> UsageFact:
    return UsageFact(airframe_minutes=total.airframe_minutes, launches=total.launches)


def usage_of(aircraft_ids: Sequence[UUID]) -> Mapping[UUID, UsageFact]:
    """Totals of the airframes whose usage is known; one query."""
    return {total.aircraft_id: _usage(total) for total in UsageTotal.objects.filter(aircraft_id__in=aircraft_ids)}


def _fact(document: Document) -> DocumentFact:
    return DocumentFact(id=str(document.id), kind=document.kind, expires_on=document.expires_on)


def gather(aircraft_ids: Sequence[UUID], at: datetime) -> Mapping[UUID, Mapping[str, Any]]:
    """At most two queries. Without an opening balance usage is unknown, and a limit in hours or launches grounds."""
    documents = _documents(aircraft_ids)
    return {
        aircraft_id: {
            "policy": aircraft.club.policy(),
            "usage": _usage(aircraft.usage_total) if hasattr(aircraft, "usage_total") else None,
            "documents": tuple(_fact(document) for document in documents.get(aircraft_id, ())),
        }
        for aircraft_id, aircraft in _aircraft(aircraft_ids, documents).items()
    }
