"""Extensions and windows of airworthiness review certificates (check values of the rules in their citations)."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from fleet.models import Aircraft, Document
from fleet.permissions import today_in
from tests.api.cast import Cast, change, created, make_cast, not_there
from tests.api.clients import pointers, problem
from tests.factories import fresh, make_aircraft

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/documents"
CERTIFICATE = "airworthiness_review_certificate"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    return make_aircraft(cast.club, documents=False)


def body_for(aircraft: Aircraft, issued_on: str, expires_on: str | None, **more: Any) -> dict[str, Any]:
    return {
        "aircraft": str(aircraft.id),
        "kind": CERTIFICATE,
        "issued_on": issued_on,
        "expires_on": expires_on,
    } | more


def issued(cast: Cast, aircraft: Aircraft, issued_on: str, expires_on: str, **more: Any) -> str:
    return str(created(cast.officer, ADDRESS, body_for(aircraft, issued_on, expires_on, **more))["id"])


def windows(cast: Cast, document: str, **days: str) -> dict[str, Any]:
    answer = cast.pilot.get(f"{ADDRESS}/{document}/windows", days)
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


@pytest.mark.parametrize(
    ("on", "expiry"),
    [("2026-03-31", "2027-04-30"), ("2026-03-30", "2027-03-30"), ("2026-04-30", "2027-04-30")],
)
def test_an_extension_keeps_the_date_for_30_days(cast: Cast, aircraft: Aircraft, on: str, expiry: str) -> None:
    """ML.A.901(d) (T22, T23); that the last day counts in: a date counts through the end of its day."""
    found = windows(cast, issued(cast, aircraft, "2025-04-30", "2026-04-30"), on=on)
    assert found["extension_from"] == "2026-03-31"
    assert found["extension"] == {"expires_on": expiry, "why_not": None}
    assert (found["extensions_made"], found["extensions_left"]) == (0, 2)


@pytest.mark.parametrize(
    ("on", "begun_on", "expiry"),
    [
        ("2026-01-30", "2026-01-30", "2027-04-30"),
        ("2026-01-29", "2026-01-29", "2027-01-29"),
        ("2026-02-10", "2026-01-29", "2027-02-10"),
        ("2026-05-02", "2026-04-20", "2027-05-02"),
    ],
)
def test_a_review_keeps_the_date_for_90_days(
    cast: Cast, aircraft: Aircraft, on: str, begun_on: str, expiry: str
) -> None:
    """ML.A.903(d) (T24, T25): the whole review inside the window, else a year after the issue."""
    found = windows(cast, issued(cast, aircraft, "2025-04-30", "2026-04-30"), on=on, review_begun_on=begun_on)
    assert found["review_from"] == "2026-01-30"
    assert found["review"] == {"expires_on": expiry, "why_not": None}


def test_two_extensions_and_not_a_third(cast: Cast, aircraft: Aircraft) -> None:
    """ML.A.901(c) (T26): reviewed 2022, extended 2023 and 2024."""
    first = issued(cast, aircraft, "2022-04-30", "2023-04-30")
    second = issued(cast, aircraft, "2023-04-15", "2024-04-30", extends=first)
    third = issued(cast, aircraft, "2024-04-15", "2025-04-30", extends=second)
    found = windows(cast, third, on="2025-04-10")
    assert (found["extensions_made"], found["extensions_left"], found["extension"]["expires_on"]) == (2, 0, None)
    assert "ML.A.901(c)" in found["extension"]["why_not"]
    refused = body_for(aircraft, "2025-04-10", "2026-04-30", extends=third)
    body = problem(cast.officer.post(ADDRESS, refused), 409, "conflict")
    assert (body["code"], body["current"]["extensions_made"]) == ("not_extendable", 2)
    assert found["review"]["expires_on"] == "2026-04-30"
    assert created(cast.officer, ADDRESS, body_for(aircraft, "2025-04-10", "2026-04-30"))["extends"] is None


def test_an_extension_counts_like_any_certificate(cast: Cast, aircraft: Aircraft) -> None:
    today = today_in(aircraft.club, timezone.now())
    created(cast.officer, ADDRESS, body_for(aircraft, "2025-01-01", None, kind="insurance"))
    ends = today + timedelta(days=5)
    base = issued(cast, aircraft, (ends - timedelta(days=360)).isoformat(), ends.isoformat())
    later = (ends + timedelta(days=300)).isoformat()
    made = created(cast.officer, ADDRESS, body_for(aircraft, today.isoformat(), later, extends=base))
    assert (made["extends"], made["airworthiness"]["reasons"]) == (base, [])
    line = next(
        one["summary"]
        for one in cast.pilot.get(f"/api/v1/aircraft/{aircraft.id}/history").json()["results"]
        if "an extension" in one["summary"]
    )
    assert "valid until " + later in line


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"expires_on": "2025-05-01"}, "/expires_on", "beyond_rule"),
        ({"expires_on": "2024-04-30"}, "/expires_on", "out_of_order"),
        ({"expires_on": None}, "/expires_on", "out_of_order"),
        ({"issued_on": "2024-03-30", "expires_on": "2025-03-31"}, "/expires_on", "beyond_rule"),
        ({"kind": "insurance"}, "/extends", "not_a_certificate"),
        ({"extends": "2b0f3f43-3d8f-4a44-9b55-0a3b6f1d8c20"}, "/extends", "unknown_certificate"),
        ({"expires_on": "9999-12-31"}, "/expires_on", "too_late"),
    ],
)
def test_what_an_extension_may_not_say(
    cast: Cast, aircraft: Aircraft, changes: dict[str, Any], pointer: str, code: str
) -> None:
    base = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    body = body_for(aircraft, "2024-04-15", "2025-04-30", extends=base) | changes
    assert pointers(problem(cast.officer.post(ADDRESS, body), 422, "invalid")) == {pointer: code}
    assert Document.objects.count() == 1


def test_the_day_before_the_anniversary_is_stored_as_printed(cast: Cast, aircraft: Aircraft) -> None:
    """Which of the two is printed is not defined in the texts read (ML.A.901(a))."""
    base = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    extension = issued(cast, aircraft, "2024-04-15", "2025-04-29", extends=base)
    assert cast.pilot.get(f"{ADDRESS}/{extension}").json()["expires_on"] == "2025-04-29"


@pytest.mark.parametrize("issued_on", ["2024-05-01", "2023-04-29"])
def test_only_a_valid_certificate_is_extended(cast: Cast, aircraft: Aircraft, issued_on: str) -> None:
    base = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    body = body_for(aircraft, issued_on, "2025-04-30", extends=base)
    assert problem(cast.officer.post(ADDRESS, body), 409, "conflict")["code"] == "not_extendable"
    assert windows(cast, base, on=issued_on)["extension"]["why_not"]


def test_a_certificate_is_extended_once_unless_the_extension_was_withdrawn(cast: Cast, aircraft: Aircraft) -> None:
    base = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    body = body_for(aircraft, "2024-04-15", "2025-04-30", extends=base)
    wrong = created(cast.officer, ADDRESS, body)
    assert problem(cast.officer.post(ADDRESS, body), 409, "conflict")["code"] == "not_extendable"
    change(cast.officer, f"{ADDRESS}/{wrong['id']}", {"withdrawn_at": timezone.now().isoformat()})
    problem(cast.officer.post(ADDRESS, body | {"extends": wrong["id"]}), 409, "conflict")
    assert created(cast.officer, ADDRESS, body)["extends"] == base


def test_with_a_certificate_its_extensions_are_withdrawn(cast: Cast, aircraft: Aircraft) -> None:
    created(cast.officer, ADDRESS, body_for(aircraft, "2025-01-01", None, kind="insurance"))
    today = today_in(aircraft.club, timezone.now())
    ends = today + timedelta(days=5)
    base = issued(cast, aircraft, (ends - timedelta(days=360)).isoformat(), ends.isoformat())
    later = (ends + timedelta(days=300)).isoformat()
    extension = issued(cast, aircraft, today.isoformat(), later, extends=base)
    assert fresh(aircraft).airworthiness.status == "serviceable"
    done = change(cast.officer, f"{ADDRESS}/{base}", {"withdrawn_at": timezone.now().isoformat()})
    assert done.json()["airworthiness"]["status"] == "grounded"
    assert cast.pilot.get(f"{ADDRESS}/{extension}").json()["withdrawn_at"] is not None
    assert windows(cast, base)["review"]["expires_on"] > today.isoformat()


def test_corrections_keep_the_rule(cast: Cast, aircraft: Aircraft) -> None:
    base = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    extension = issued(cast, aircraft, "2024-04-15", "2025-04-30", extends=base)
    wrong = problem(change(cast.officer, f"{ADDRESS}/{extension}", {"expires_on": "2025-05-01"}), 422, "invalid")
    assert pointers(wrong) == {"/expires_on": "beyond_rule"}
    refused = change(cast.officer, f"{ADDRESS}/{base}", {"expires_on": "2024-03-30"})
    assert problem(refused, 409, "conflict")["code"] == "extended"
    assert change(cast.officer, f"{ADDRESS}/{base}", {"reference": "ARC-7"}).status_code == 200
    assert change(cast.officer, f"{ADDRESS}/{extension}", {"expires_on": "2025-04-29"}).status_code == 200


def test_other_documents_have_no_windows(cast: Cast) -> None:
    insurance = Document.objects.get(aircraft=make_aircraft(cast.club), kind="insurance")
    found = windows(cast, str(insurance.id))
    assert (found["extension_from"], found["review_from"], found["extensions_left"]) == (None, None, 0)
    assert found["extension"]["why_not"] == "Only an airworthiness review certificate is extended."
    assert found["review"]["expires_on"] is None


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"on": "2026-02-30"}, "/on"),
        ({"on": "9999-01-01"}, "/on"),
        ({"on": "2026-03-01", "review_begun_on": "2026-03-02"}, "/review_begun_on"),
        ({"day": "2026-03-01"}, "/day"),
    ],
)
def test_days_that_cannot_be(cast: Cast, aircraft: Aircraft, query: dict[str, str], pointer: str) -> None:
    document = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    body = problem(cast.pilot.get(f"{ADDRESS}/{document}/windows", query), 422, "invalid")
    assert pointer in pointers(body)


def test_a_review_that_begins_later_is_foreseen_for_then(cast: Cast, aircraft: Aircraft) -> None:
    document = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    assert windows(cast, document, review_begun_on="2080-01-01")["review"]["expires_on"] == "2081-01-01"
    assert windows(cast, document)["on"] == today_in(aircraft.club, timezone.now()).isoformat()


def test_another_club_sees_no_windows_and_extends_nothing(cast: Cast, aircraft: Aircraft) -> None:
    document = issued(cast, aircraft, "2023-04-30", "2024-04-30")
    other = make_cast()
    not_there(other.pilot, f"{ADDRESS}/{document}/windows")
    own = make_aircraft(other.club, documents=False)
    body = body_for(own, "2024-04-15", "2025-04-30", extends=document)
    assert pointers(problem(other.officer.post(ADDRESS, body), 422, "invalid")) == {"/extends": "unknown_certificate"}


def test_the_chain_is_read_with_few_queries(cast: Cast, aircraft: Aircraft, django_assert_max_num_queries: Any) -> None:
    first = issued(cast, aircraft, "2022-04-30", "2023-04-30")
    second = issued(cast, aircraft, "2023-04-15", "2024-04-30", extends=first)
    third = issued(cast, aircraft, "2024-04-15", "2025-04-30", extends=second)
    with django_assert_max_num_queries(7):
        assert windows(cast, third, on=date(2025, 4, 1).isoformat())["extensions_made"] == 2
