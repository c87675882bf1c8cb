"""Documents: required ones missing, expired or withdrawn ground; the one that reaches furthest counts."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from fleet import assessment
from fleet.errors import Conflict, DomainError, NotFound
from fleet.models import Aircraft, Attachment, Document, DocumentKind, Event, Membership, Role
from fleet.services import register
from tests.factories import NOW, ClubFactory, MemberFactory, fresh, make_aircraft
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

INSURANCE = DocumentKind.INSURANCE
TODAY = date(2025, 5, 14)
DAY = timedelta(days=1)


@pytest.fixture
def bare(aircraft: Aircraft) -> Aircraft:
    """The aircraft without insurance."""
    Document.objects.filter(aircraft=aircraft, kind=INSURANCE).delete()
    return aircraft


def add(aircraft: Aircraft, by: Membership, **words: Any) -> Any:
    given: dict[str, Any] = {
        "kind": INSURANCE,
        "issued_on": date(2025, 1, 1),
        "expires_on": date(2026, 1, 1),
        "at": NOW,
    }
    return register.add_document(aircraft_id=aircraft.id, by=by, **given | words)


def change(document: Document, by: Membership, **changes: Any) -> Any:
    aircraft, locked = register.lock_document(document.id, by=by, at=NOW)
    return register.change_document(aircraft, locked, by=by, at=NOW, changes=changes)


@pytest.mark.parametrize(
    ("expires_on", "status", "effects"),
    [
        (None, "serviceable", []),
        (date(2026, 1, 1), "serviceable", []),
        (TODAY + 31 * DAY, "serviceable", []),
        (TODAY + 30 * DAY, "serviceable", ["advises"]),
        (TODAY, "serviceable", ["advises"]),  # the printed day is the last valid one
        (TODAY - DAY, "grounded", ["grounds"]),
    ],
)
def test_a_required_document_by_its_printed_day(
    bare: Aircraft, officer: Membership, expires_on: date | None, status: str, effects: list[str]
) -> None:
    _document, verdict = add(bare, officer, expires_on=expires_on)
    assert verdict.status.code == status
    assert [reason.effect.code for reason in verdict.reasons] == effects


def test_the_document_that_reaches_furthest_counts(bare: Aircraft, officer: Membership) -> None:
    for expires_on in (date(2025, 2, 1), date(2026, 2, 1), date(2025, 3, 1)):
        _document, verdict = add(bare, officer, expires_on=expires_on)
    assert verdict.status.code == "serviceable"
    furthest = Document.objects.get(aircraft=bare, expires_on=date(2026, 2, 1))
    assert change(furthest, officer, withdrawn_at=NOW)[1].status.code == "grounded"


def test_a_document_that_is_not_required_may_expire(aircraft: Aircraft, officer: Membership) -> None:
    _document, verdict = add(aircraft, officer, kind=DocumentKind.RADIO_LICENCE, expires_on=date(2025, 2, 1))
    assert (verdict.status.code, verdict.reasons) == ("serviceable", ())


@pytest.mark.parametrize(
    ("words", "pointer", "code"),
    [
        ({"issued_on": TODAY + DAY}, "/issued_on", "in_future"),
        ({"expires_on": date(2024, 12, 31)}, "/expires_on", "out_of_order"),
        ({"attachment": uuid4()}, "/attachment", "unknown_attachment"),
    ],
)
def test_a_document_that_cannot_be_right(
    bare: Aircraft, officer: Membership, words: dict[str, Any], pointer: str, code: str
) -> None:
    with unchanged(), pytest.raises(DomainError) as refusal:
        add(bare, officer, **words)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


def test_todays_document_is_of_today_in_the_clubs_zone(bare: Aircraft, officer: Membership) -> None:
    late = datetime(2025, 5, 14, 22, 30, tzinfo=UTC)  # 00:30 of the 15th in the club's zone
    add(bare, officer, issued_on=TODAY + DAY, at=late)
    assert Document.objects.filter(issued_on=TODAY + DAY).exists()


def test_only_an_attachment_of_this_aircraft_is_named(bare: Aircraft, officer: Membership) -> None:
    other = make_aircraft(bare.club, aircraft_type=bare.aircraft_type)
    files = [
        Attachment.objects.create(
            club=bare.club,
            aircraft=one,
            content_type="application/pdf",
            size_bytes=1,
            sha256="0" * 64,
            uploaded_by=officer,
            uploaded_at=NOW,
        )
        for one in (bare, other)
    ]
    document, _verdict = add(bare, officer, attachment=files[0].id)
    assert document.attachment == files[0]
    with unchanged(), pytest.raises(DomainError):
        add(bare, officer, attachment=files[1].id)


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"expires_on": date(2019, 1, 1)}, "/expires_on", "out_of_order"),
        ({"issued_on": TODAY + DAY}, "/issued_on", "in_future"),
        ({"withdrawn_at": NOW + timedelta(minutes=6)}, "/withdrawn_at", "in_future"),
    ],
)
def test_a_correction_that_cannot_be_right(
    aircraft: Aircraft, officer: Membership, changes: dict[str, Any], pointer: str, code: str
) -> None:
    document = Document.objects.get(kind=INSURANCE)
    with unchanged(), pytest.raises(DomainError) as refusal:
        change(document, officer, **changes)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


def test_a_correction_is_judged_at_once_and_told_with_what_it_was(aircraft: Aircraft, officer: Membership) -> None:
    document = Document.objects.get(kind=INSURANCE)
    _document, verdict = change(document, officer, expires_on=TODAY - DAY)
    assert verdict.status.code == "grounded"
    (event,) = Event.objects.filter(kind="document_change")
    assert '"expires_on":{"after":"2025-05-13","before":"2090-12-31"}' in event.canonical


def test_withdrawn_it_grounds_and_stays_withdrawn(aircraft: Aircraft, officer: Membership) -> None:
    document = Document.objects.get(kind=INSURANCE)
    _document, verdict = change(document, officer, withdrawn_at=NOW)
    assert verdict.status.code == "grounded"
    for changes in ({"withdrawn_at": None}, {"expires_on": date(2099, 1, 1)}):
        with unchanged(), pytest.raises(Conflict) as refusal:
            change(document, officer, **changes)
        assert refusal.value.code == "withdrawn"
    _document, verdict = add(aircraft, officer)
    assert verdict.status.code == "serviceable"


def test_for_another_club_neither_aircraft_nor_document_is_there(aircraft: Aircraft) -> None:
    with unchanged(), taken_back():
        stranger = MemberFactory.create(club=ClubFactory.create(), roles=[Role.TECHNICAL_OFFICER])
        with pytest.raises(NotFound):
            add(aircraft, stranger)
        with pytest.raises(NotFound):
            register.lock_document(Document.objects.filter(aircraft=aircraft)[0].id, by=stranger, at=NOW)


def test_what_a_club_requires_is_its_own_setting(bare: Aircraft, officer: Membership) -> None:
    bare.club.required_documents = [DocumentKind.WEIGHING_REPORT]
    bare.club.save()
    locked = assessment.lock(bare.id, club_id=bare.club_id, at=NOW)
    verdict = assessment.conclude([locked], at=NOW)[bare.id]
    assert [reason.rule for reason in verdict.reasons] == ["document_expired"]
    _document, verdict = add(bare, officer, kind=DocumentKind.WEIGHING_REPORT, expires_on=None)
    assert verdict.status.code == fresh(bare).airworthiness.status == "serviceable"
