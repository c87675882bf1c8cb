"""Airworthiness review certificates: their extensions, and what an extension or a review on a day would give.

An extension is a document of its own that names what it extends; so a chain of them leads back to the last review.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from fleet.airworthiness.due import certificate as rule
from fleet.errors import Conflict, DomainError, invalid
from fleet.models import Aircraft, Document, DocumentKind

CERTIFICATE = DocumentKind.AIRWORTHINESS_REVIEW_CERTIFICATE


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreseen:
    """The expiry to expect, or why there is none."""

    expires_on: date | None = None
    why_not: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """From when an extension or a review keeps the date of the year (None: no expiry is recorded), and what they give."""

    extension_from: date | None
    review_from: date | None
    extensions_made: int
    extensions_left: int
    extension: Foreseen
    review: Foreseen


def extensions_made(certificate: Document) -> int:
    """How often its validity was extended since its last review. One query a step, of which the rules allow two."""
    made = 0
    while certificate.extends is not None:
        certificate, made = certificate.extends, made + 1
    return made


def extension_of(certificate: Document) -> Document | None:
    """The extension of it that counts."""
    return certificate.extensions.filter(withdrawn_at=None).first()


def following(certificate: Document) -> Iterator[Document]:
    """The extensions that hang on it, one on the other."""
    later = extension_of(certificate)
    while later is not None:
        yield later
        later = extension_of(later)


def _why_no_base(certificate: Document) -> str | None:
    if certificate.kind != CERTIFICATE:
        return "Only an airworthiness review certificate is extended."
    if certificate.withdrawn_at is not None:
        return "It was withdrawn. Name the certificate that counts."
    if extension_of(certificate) is not None:
        return "It has been extended already. Name its extension."
    return None


def _why_not_on(certificate: Document, on: date) -> str | None:
    if certificate.expires_on is None:
        return "No expiry of it is recorded. Correct it first."
    if on < certificate.issued_on:
        return "It was issued after that day. Correct the dates."
    return rule.why_not_extend(certificate.expires_on, on, extensions_made(certificate))


def _check_terms(certificate: Document, extended_on: date, expires_on: date | None) -> None:
    """Raises Conflict or Invalid unless a certificate can be extended on the day, and to the printed expiry."""
    refusal = _why_not_on(certificate, extended_on)
    if refusal is not None or certificate.expires_on is None:
        current = {"expires_on": certificate.expires_on, "extensions_made": extensions_made(certificate)}
        raise Conflict("not_extendable", refusal or "", current)
    if expires_on is None or expires_on <= certificate.expires_on:
        detail = f"The extended certificate reaches to {certificate.expires_on}. Give the later day printed on the extension."
        raise invalid("/expires_on", "out_of_order", detail)
    latest = rule.extended_expiry(certificate.expires_on, extended_on, extensions_made(certificate))
    if expires_on > latest:
        detail = f"An extension of that day reaches to {latest} at the latest (ML.A.901(c), (d)). Check both dates."
        raise invalid("/expires_on", "beyond_rule", detail)


def extended_by(
    aircraft: Aircraft, extends: UUID | None, *, kind: str, issued_on: date, expires_on: date | None
) -> Document | None:
    """The certificate of a locked aircraft that a new document extends, if it names one and may.

    Raises Invalid or Conflict. At most two extensions follow each other (ML.A.901(c)).
    """
    if extends is None:
        return None
    if kind != CERTIFICATE:
        raise invalid("/extends", "not_a_certificate", "Only an airworthiness review certificate is extended.")
    certificate = Document.objects.filter(aircraft=aircraft, id=extends).first()
    if certificate is None:
        raise invalid("/extends", "unknown_certificate", "This names no certificate of this aircraft.")
    refusal = _why_no_base(certificate)
    if refusal is not None:
        raise Conflict("not_extendable", refusal, {"withdrawn_at": certificate.withdrawn_at})
    _check_terms(certificate, issued_on, expires_on)
    return certificate


def check_corrected(wanted: Document) -> None:
    """Other dates of a certificate still fit what it extends and what extends it. Raises Conflict or Invalid."""
    if wanted.extends is not None:
        _check_terms(wanted.extends, wanted.issued_on, wanted.expires_on)
    later = extension_of(wanted)
    if later is None:
        return
    try:
        _check_terms(wanted, later.issued_on, later.expires_on)
    except DomainError as error:
        detail = "Its extension does not fit these dates. Withdraw the extension, correct this, and record the extension anew."
        raise Conflict("extended", detail, {"extension": later.id}) from error


def _extension(certificate: Document, on: date, made: int) -> Foreseen:
    why_not = _why_no_base(certificate) or _why_not_on(certificate, on)
    if why_not is not None or certificate.expires_on is None:
        return Foreseen(why_not=why_not)
    return Foreseen(expires_on=rule.extended_expiry(certificate.expires_on, on, made))


def _review(certificate: Document, begun_on: date, on: date) -> Foreseen:
    if certificate.kind != CERTIFICATE:
        return Foreseen(why_not="Only an airworthiness review certificate follows from a review.")
    counts = certificate.expires_on if certificate.withdrawn_at is None else None
    return Foreseen(expires_on=rule.reviewed_expiry(counts, begun_on, on))


def windows(certificate: Document, *, on: date, review_begun_on: date) -> Windows:
    """What an extension, or a review begun and ended on these days, would make of it. A few queries, at most seven."""
    expires_on = certificate.expires_on if certificate.kind == CERTIFICATE else None
    made = extensions_made(certificate)
    extension = _extension(certificate, on, made)
    most = rule.PART_ML.most_extensions if certificate.kind == CERTIFICATE else 0
    return Windows(
        extension_from=expires_on and rule.extension_window_opens_on(expires_on),
        review_from=expires_on and rule.review_window_opens_on(expires_on),
        extensions_made=made,
        extensions_left=max(0, most - made),
        extension=extension,
        review=_review(certificate, review_begun_on, on),
    )
