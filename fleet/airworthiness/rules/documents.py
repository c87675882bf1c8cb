"""The documents an aircraft must have."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from fleet.airworthiness.facts import DocumentFact, Facts
from fleet.airworthiness.limits import end_of_day
from fleet.airworthiness.rule import Rule
from fleet.airworthiness.sentences import capitalised, words
from fleet.airworthiness.verdict import Effect, Reason


def _furthest(documents: list[DocumentFact]) -> DocumentFact:
    return max(documents, key=lambda document: (document.expires_on or date.max, document.id))


def _required(facts: Facts) -> Iterator[tuple[str, DocumentFact | None]]:
    """Each required kind with its document that reaches furthest."""
    for kind in dict.fromkeys(facts.policy.required_documents):
        documents = [document for document in facts.documents if document.kind == kind]
        yield kind, _furthest(documents) if documents else None


def _edges(expires_on: date, facts: Facts) -> tuple[datetime, datetime]:
    """Start of the notice window, and end of the printed last day, to which the document is valid."""
    opens = expires_on - timedelta(days=facts.policy.document_notice_days + 1)
    return end_of_day(opens, facts.policy.time_zone), end_of_day(expires_on, facts.policy.time_zone)


def _missing(kind: str, facts: Facts) -> Reason:
    return DOCUMENT_EXPIRED.grounds(
        ("aircraft", facts.aircraft_id),
        message=f"{capitalised(words(kind))}: no such document is recorded, and the club requires it.",
        cure="Obtain the document and record it with its last valid day.",
    )


def _judged(document: DocumentFact, expires_on: date, facts: Facts, now: datetime) -> Iterator[Reason]:
    notice_at, expired_at = _edges(expires_on, facts)
    name, subject = capitalised(words(document.kind)), ("document", document.id)
    cure = "Renew the document and record its new last valid day."
    if now >= expired_at:
        yield DOCUMENT_EXPIRED.grounds(subject, message=f"{name}: expired, last valid day {expires_on}.", cure=cure)
    elif now >= notice_at:
        yield DOCUMENT_EXPIRED.reason(
            Effect.ADVISES, subject, message=f"{name}: expires soon, last valid day {expires_on}.", cure=cure
        )


def _document_expired(facts: Facts, now: datetime) -> Iterator[Reason]:
    for kind, document in _required(facts):
        if document is None:
            yield _missing(kind, facts)
        elif document.expires_on is not None:
            yield from _judged(document, document.expires_on, facts, now)


def _turns(facts: Facts) -> Iterator[datetime]:
    for _kind, document in _required(facts):
        if document is not None and document.expires_on is not None:
            yield from _edges(document.expires_on, facts)


DOCUMENT_EXPIRED = Rule(
    code="document_expired",
    title="Required document missing or expired",
    effects=(Effect.GROUNDS, Effect.ADVISES),
    citation="ML.A.201(a), ML.A.901(a), club practice",
    judge=_document_expired,
    turns=_turns,
)
