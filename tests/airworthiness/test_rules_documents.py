"""The rule about documents."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.verdict import Effect, Status
from tests.airworthiness.builders import MOMENT, NOW, TODAY, document, effects, facts, findings, policy

GROUNDS, ADVISES = [Effect.GROUNDS], [Effect.ADVISES]


def days(count: int) -> timedelta:
    return timedelta(days=count)


@pytest.mark.parametrize(
    ("expires_on", "expected"),
    [
        (None, []),
        (TODAY - days(1), GROUNDS),
        (TODAY, ADVISES),  # valid to the end of the printed day (ML.A.901, standards: store the printed date)
        (TODAY + days(1), ADVISES),
        (TODAY + days(28), ADVISES),
        (TODAY + days(29), []),
        (TODAY + days(400), []),
    ],
)
def test_a_document_is_valid_to_the_end_of_its_last_day(expires_on: date | None, expected: Any) -> None:
    assert effects(facts(documents=(document(expires_on=expires_on),)), "document_expired") == expected


def test_an_expired_certificate_grounds_whatever_the_inspections_say() -> None:
    # Check value T06: annual inspection in tolerance on 2026-05-25, certificate expired 2026-05-10, not flyable
    # (AMC1 ML.A.302(d)).
    known = facts(documents=(document(expires_on=date(2026, 5, 10)),))
    assert evaluate(known, datetime(2026, 5, 25, 12, 0, tzinfo=UTC)).status is Status.GROUNDED


def test_the_day_ends_by_the_clock_of_the_club() -> None:
    known = facts(documents=(document(expires_on=TODAY),))
    midnight = datetime(2026, 5, 10, 22, 0, tzinfo=UTC)  # 00:00 on the 11th in Berlin
    assert evaluate(known, NOW).valid_until == midnight
    assert effects(known, "document_expired", midnight - MOMENT) == ADVISES
    assert effects(known, "document_expired", midnight) == GROUNDS


def test_the_notice_opens_at_a_midnight_too() -> None:
    known = facts(documents=(document(expires_on=TODAY + days(29)),), last_complete_daily=None)
    opens = datetime(2026, 5, 10, 22, 0, tzinfo=UTC)
    assert evaluate(known, NOW).valid_until == opens
    assert effects(known, "document_expired", opens - MOMENT) == []
    assert effects(known, "document_expired", opens) == ADVISES


def test_sentences_name_the_document_and_its_last_day() -> None:
    (expired,) = findings(facts(documents=(document(expires_on=TODAY - days(1)),)), "document_expired")
    (soon,) = findings(facts(documents=(document(expires_on=TODAY),)), "document_expired")
    assert expired.message == "Airworthiness review certificate: expired, last valid day 2026-05-09."
    assert soon.message == "Airworthiness review certificate: expires soon, last valid day 2026-05-10."
    assert (soon.subject_type, soon.subject_id) == ("document", "arc")


def test_a_required_document_that_is_not_recorded_grounds() -> None:
    club = policy(required_documents=("airworthiness_review_certificate", "insurance"))
    (reason,) = findings(facts(policy=club), "document_expired")
    assert reason.effect is Effect.GROUNDS
    assert reason.message == "Insurance: no such document is recorded, and the club requires it."
    assert (reason.subject_type, reason.subject_id) == ("aircraft", "aircraft")


def test_a_kind_required_twice_is_missed_once() -> None:
    assert effects(facts(policy=policy(required_documents=("insurance", "insurance"))), "document_expired") == GROUNDS


def test_a_document_that_is_not_required_does_nothing() -> None:
    known = facts(documents=(document(), document(id="old", kind="radio_licence", expires_on=date(2020, 1, 1))))
    assert findings(known, "document_expired") == []
    assert findings(facts(documents=(), policy=policy(required_documents=())), "document_expired") == []


@pytest.mark.parametrize(
    ("others", "expected"),
    [
        ((TODAY - days(1), TODAY + days(400)), []),
        ((TODAY + days(400), TODAY - days(1)), []),
        ((None, TODAY - days(1)), []),
        ((TODAY - days(1), None), []),
        ((TODAY - days(2), TODAY - days(1)), GROUNDS),
    ],
)
def test_of_two_documents_of_a_kind_the_one_that_reaches_furthest_counts(others: Any, expected: Any) -> None:
    documents = tuple(document(id=str(index), expires_on=day) for index, day in enumerate(others))
    assert effects(facts(documents=documents), "document_expired") == expected


def test_a_club_without_notice_is_told_when_it_is_too_late() -> None:
    known = facts(documents=(document(expires_on=TODAY),), policy=policy(document_notice_days=0))
    assert effects(known, "document_expired") == ADVISES  # the last day itself
    tomorrow = facts(documents=(document(expires_on=TODAY + days(1)),), policy=policy(document_notice_days=0))
    assert effects(tomorrow, "document_expired") == []
