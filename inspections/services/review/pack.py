"""The pack: read, judged by the pure checks, told in JSON types and in print."""

import logging
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from fleet import assessment, life, printing
from fleet.airworthiness.due.certificate import extension_window_opens_on, review_window_opens_on
from fleet.airworthiness.review import CAUTION, Check, Known, review
from fleet.airworthiness.sentences import capitalised, words
from fleet.models import Aircraft, AircraftCategory, UsageTotal
from fleet.permissions import today_in
from fleet.services.certificates import CERTIFICATE
from inspections.services.review import from_defects, from_programme, from_register

log = logging.getLogger(__name__)
TEMPLATE = Path(__file__).parents[2] / "templates" / "inspections" / "review_pack.typ"


def known_of(aircraft: Aircraft, *, since: date | None, at: datetime) -> Known:
    """Everything that the checks are made from; a constant number of queries.

    Without ``since`` evidence is shown from the last review on, if one is recorded.
    """
    facts = assessment.gather_facts([aircraft.id], at)[aircraft.id]
    papers = tuple(from_register.papers(aircraft))
    since = since or from_register.last_review(papers)
    items, inside = from_programme.items_of(aircraft), life.installed_in([aircraft.id])[aircraft.id]
    total: UsageTotal | None = getattr(aircraft, "usage_total", None)
    return Known(
        facts=facts,
        now=at,
        today=today_in(aircraft.club, at),
        since=since,
        engine=aircraft.aircraft_type.category != AircraftCategory.SAILPLANE,
        totals=from_register.readings(total.amounts()) if total else None,
        tasks=tuple(from_programme.tasks(items, facts.due)),
        directives=tuple(from_programme.directives(aircraft, items, inside)),
        components=tuple(from_register.components(aircraft, inside)),
        papers=papers,
        work=tuple(from_programme.work(aircraft, [one.component for one in inside], since)),
        closed=tuple(from_defects.closed(aircraft, since)),
        positions=from_register.required_positions(aircraft, inside),
        flights=from_register.flights(aircraft, since),
    )


def _certificate(known: Known) -> dict[str, Any] | None:
    found = next(iter(known.of_kind(CERTIFICATE)), None)
    if found is None:
        return None
    windows = {
        "extension_from": found.expires_on and extension_window_opens_on(found.expires_on),
        "review_from": found.expires_on and review_window_opens_on(found.expires_on),
    }
    names = ("id", "reference", "issued_on", "expires_on", "extensions_made")
    return {**{name: getattr(found, name) for name in names}, **windows}


def _check(check: Check) -> dict[str, Any]:
    if check.error is not None:
        log.error("a check of the review could not be made: %s", check.error, extra={"check": check.number})
    told = asdict(check)
    del told["error"]
    return told


def _documents(known: Known) -> list[dict[str, Any]]:
    names = ("id", "kind", "reference", "issued_on", "expires_on")
    return [{name: getattr(paper, name) for name in names} for paper in known.papers]


def pack(aircraft: Aircraft, *, since: date | None, at: datetime) -> dict[str, Any]:
    """The pack of an aircraft read with club, type, stored verdict, total and chain, in JSON types."""
    known = known_of(aircraft, since=since, at=at)
    look = assessment.shown_at(aircraft.airworthiness, at)
    chain = aircraft.event_chain
    return {
        "aircraft": aircraft.id,
        "registration": aircraft.registration,
        "aircraft_type": aircraft.aircraft_type.designation,
        "manufacturer": aircraft.aircraft_type.manufacturer,
        "category": aircraft.aircraft_type.category,
        "serial_number": aircraft.serial_number,
        "base": aircraft.base,
        "club": aircraft.club.name,
        "as_of": at,
        "since": known.since,
        "caution": CAUTION,
        "record": {"length": chain.length, "head": chain.head},
        "airworthiness": {name: look[name] for name in ("status", "ready_today", "reasons", "limitations")},
        "certificate": _certificate(known),
        "documents": _documents(known),
        "checks": [_check(one) for one in review(known)],
    }


def printed(made: dict[str, Any], *, time_zone: str) -> bytes:
    """The pack as tagged PDF. What people wrote goes in as data, never as markup."""
    local = made["as_of"].astimezone(ZoneInfo(time_zone))
    in_words = {
        "as_of": f"{local:%Y-%m-%d %H:%M} {time_zone}",
        "outcomes": {str(one["outcome"]): words(one["outcome"]) for one in made["checks"]},
        "documents": [{**one, "kind": capitalised(words(one["kind"]))} for one in made["documents"]],
        "category": words(made["category"]),
    }
    return printing.pdf(TEMPLATE, {**made, "in_words": in_words})
