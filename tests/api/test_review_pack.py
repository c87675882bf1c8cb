"""The airworthiness review pack over HTTP: from real records to JSON and PDF."""

import io
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from fleet.airworthiness.review import CAUTION
from fleet.models import Document, Role, UsageTotal
from inspections.selectors import aircraft_for_review
from inspections.services import review
from tests.api.cast import Cast, make_cast, not_there
from tests.api.clients import pointers, problem
from tests.factories import installed, make_aircraft, make_component, make_kind, make_position, rectified, reported
from tests.factories.programme import complied, make_directive, make_task
from tests.factories.usage import flown
from tests.inspections.reviewed import APRIL, MARCH, Reviewed, assess, in_order, noon

pytestmark = pytest.mark.django_db
SHORTLY = noon(APRIL) + timedelta(days=3)
HOSTILE = '#panic("x") $a$ *b* _c_ @d <e> [f] // g = h'


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def reviewed(cast: Cast) -> Reviewed:
    return in_order(cast.club)


def pack(reviewed: Reviewed, **options: Any) -> dict[str, Any]:
    """As it was shortly after everything was done."""
    found = aircraft_for_review(reviewed.aircraft.club_id).get(id=reviewed.aircraft.id)
    return review.pack(found, **{"since": None, "at": SHORTLY} | options)


def outcomes(made: dict[str, Any]) -> dict[int, str]:
    return {one["number"]: str(one["outcome"]) for one in made["checks"]}


def rows(made: dict[str, Any], number: int, title: str) -> list[tuple[str, ...]]:
    return next(
        list(table["rows"]) for table in made["checks"][number - 1]["tables"] if table["title"].startswith(title)
    )


def text_of(content: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages]


def test_evidence_for_an_aircraft_in_order(reviewed: Reviewed) -> None:
    made = pack(reviewed)
    assert [one["open"] for one in made["checks"]] == [()] * 11
    assert {number for number, outcome in outcomes(made).items() if outcome != "evidence"} == {2, 6, 10}
    assert (made["since"].isoformat(), made["airworthiness"]["status"]) == ("2025-01-02", "limited")
    assert made["certificate"]["review_from"].isoformat() == "2025-10-04"  # 90 days before 2026-01-02, ML.A.903(d)
    assert rows(made, 1, "Aircraft")[0] == ("Flight time", "1001:30 h of flight")
    assert rows(made, 1, "Components")[0][2:] == ("1:30 h of flight, 1 launch, 1 landing", "no overhaul recorded")
    assert [row[4] for row in rows(made, 3, "Programme")] == ["ok"]
    assert rows(made, 4, "Deferred")[0][2] == "no aerobatics"
    assert [row[1] for row in rows(made, 4, "Closed")] == ["Repaired.", "found to be no defect"]
    applied, other = rows(made, 5, "Directives")
    assert applied[3:] == (f"2025-03-10 by {applied[3].split(' by ')[1]}", "once, and done (ok)")
    assert applied[3].endswith("Replaced the bolt.")
    assert other[2].startswith("not applicable: Another propeller.")
    assert rows(made, 7, "Life limits")[0][3] == "at 4000 launches"  # of the aircraft's meter: it had 2000
    assert len(rows(made, 8, "Certified")) == 3
    assert "independently inspected by" in rows(made, 8, "Certified")[2][4]


def test_an_open_defect_is_open_in_check_4(reviewed: Reviewed) -> None:
    """ML.A.903(a)(4) (T27)."""
    reported(reviewed.aircraft, at=SHORTLY, description="Hinge loose.")
    made = pack(reviewed)
    assert [number for number, outcome in outcomes(made).items() if outcome == "open"] == [4]
    assert made["checks"][3]["open"] == (
        "Defect 4 (Hinge loose.) is reported, and neither corrected nor deferred. Have it rectified or deferred.",
    )


def test_what_went_wrong_since_is_open(reviewed: Reviewed) -> None:
    aircraft = reviewed.aircraft
    rectified(aircraft, at=SHORTLY)
    make_directive(aircraft.club, at=SHORTLY, effective_on=APRIL, component_kinds=[reviewed.component.kind])
    make_position(aircraft.aircraft_type, reviewed.component.kind, required=True, at=SHORTLY, title="Tail")
    for days in (1, 2):
        flown(aircraft, flown_on=APRIL + timedelta(days=days), winch_launches=1_000, at=SHORTLY)
    made = pack(reviewed, at=SHORTLY + timedelta(days=800))
    assert [number for number, outcome in outcomes(made).items() if outcome == "open"] == [3, 4, 5, 7, 8, 10]
    opened = {one["number"]: " ".join(one["open"]) for one in made["checks"]}
    assert f"on Tow release {reviewed.component.serial_number}: nobody has decided" in opened[5]
    assert opened[7].startswith("task-") and "overdue" in opened[7]
    assert made["airworthiness"]["status"] == "grounded"


def test_an_aircraft_of_which_nothing_is_recorded(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club, documents=False)
    made = cast.pilot.get(f"/api/v1/aircraft/{aircraft.id}/review-pack").json()
    found = outcomes(made)
    assert found.pop(1) == "open"  # unknown totals are no evidence
    assert found.pop(4) == "evidence"  # no defect is open
    assert set(found.values()) == {"not_in_these_records"}
    assert all(one["notes"] for one in made["checks"])
    assert (made["certificate"], made["since"], made["documents"]) == (None, None, [])
    content = cast.pilot.get(f"/api/v1/aircraft/{aircraft.id}/review-pack.pdf").content
    assert "No airworthiness review certificate is recorded." in text_of(content)[0]


def test_since_shows_less_and_judges_the_same(reviewed: Reviewed) -> None:
    made = pack(reviewed, since=APRIL)
    assert [row[1] for row in rows(made, 8, "Certified")] == ["Defect 1: Repaired."]
    assert outcomes(made) == outcomes(pack(reviewed))
    later = pack(reviewed, since=APRIL + timedelta(days=1))
    assert [table["title"] for table in later["checks"][3]["tables"]] == ["Deferred"]
    assert outcomes(later)[8] == "not_in_these_records"


def test_an_extension_does_not_begin_a_new_period(cast: Cast, reviewed: Reviewed) -> None:
    base = Document.objects.get(aircraft=reviewed.aircraft, kind="airworthiness_review_certificate")
    body = {
        "aircraft": str(reviewed.aircraft.id),
        "kind": base.kind,
        "issued_on": "2025-12-20",
        "expires_on": "2027-01-02",
        "extends": str(base.id),
    }
    assert cast.officer.post("/api/v1/documents", body).status_code == 201
    made = cast.pilot.get(f"/api/v1/aircraft/{reviewed.aircraft.id}/review-pack").json()
    assert made["since"] == "2025-01-02"
    assert (made["certificate"]["expires_on"], made["certificate"]["extensions_made"]) == ("2027-01-02", 1)


def test_the_pdf_says_the_same_is_tagged_and_warns_on_every_page(cast: Cast, reviewed: Reviewed) -> None:
    address = f"/api/v1/aircraft/{reviewed.aircraft.id}/review-pack"
    answer = cast.auditor.get(f"{address}.pdf", headers={"Accept": "application/pdf"})
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    assert answer["Content-Disposition"].startswith(
        f'attachment; filename="review-pack-{reviewed.aircraft.registration}-'
    )
    pages = text_of(answer.content)
    assert all(CAUTION in page for page in pages)
    told = " ".join(pages)
    for one in cast.auditor.get(address).json()["checks"]:
        assert f"{one['number']}. {one['title']}" in told
        assert all(sentence in told for sentence in (*one["open"], *one["notes"]))
    root: Any = PdfReader(io.BytesIO(answer.content)).root_object
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  # an object of the format
    assert b"pdfuaid:part" in root["/Metadata"].get_data()


def test_what_people_wrote_stays_text_in_print(reviewed: Reviewed) -> None:
    reported(reviewed.aircraft, at=SHORTLY, description=HOSTILE)
    later = SHORTLY + timedelta(minutes=1)
    reported(reviewed.aircraft, at=later, description="日本 \u202egnidael " + "long" * 400 + " end")
    content = review.printed(pack(reviewed, at=later), time_zone="Europe/Vienna")
    told = " ".join(text_of(content))
    assert f"Defect 4 ({HOSTILE})" in told
    assert "Defect 5 ([U+65E5][U+672C] [U+202E]gnidael" in told
    assert told.replace(" ", "").count("long" * 400 + "end") == 2  # among the reasons, and in check 4


def test_a_check_that_fails_is_open_and_logged(
    reviewed: Reviewed, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("fleet.airworthiness.review.usage.amount_in_words", lambda *_: 1 / 0)
    made = pack(reviewed)
    assert outcomes(made)[1] == "open"
    assert "ZeroDivisionError" in caplog.text
    assert "error" not in made["checks"][0]


def test_it_takes_the_same_queries_however_much_there_is(
    cast: Cast, reviewed: Reviewed, django_assert_num_queries: Any
) -> None:
    address = f"/api/v1/aircraft/{reviewed.aircraft.id}/review-pack"
    cast.pilot.get(address)  # notes the use of the token
    with CaptureQueriesContext(connection) as before:
        cast.pilot.get(address)
    more(reviewed)
    with django_assert_num_queries(len(before)):
        cast.pilot.get(address)
    assert len(before) <= 60  # the facts of the rules twice: as they are now, and as what is shown


def more(reviewed: Reviewed) -> None:
    """Of everything one more."""
    aircraft, at = reviewed.aircraft, SHORTLY
    kind = make_kind(aircraft.club, designation="Harness", at=at)
    harness = make_component(kind, manufactured_on=MARCH, at=at)
    installed(harness, aircraft, make_position(aircraft.aircraft_type, kind, required=True, at=at), at=at)
    make_task(kind, {"dimension": "months", "every": 144}, at=at)
    complied(reviewed.annual, aircraft, on=APRIL, at=at + timedelta(minutes=1))
    directive = make_directive(aircraft.club, at=at, effective_on=APRIL, aircraft_types=[aircraft.aircraft_type])
    assess(directive, aircraft, "applicable", at + timedelta(minutes=2))
    reported(aircraft, at=at + timedelta(minutes=3))


def test_unknown_totals_leave_nothing_counted(reviewed: Reviewed) -> None:
    UsageTotal.objects.filter(aircraft=reviewed.aircraft).delete()
    made = pack(reviewed)
    assert outcomes(made)[1] == "open"
    assert outcomes(made)[7] == "open"


def test_another_club_finds_nothing(reviewed: Reviewed) -> None:
    other = make_cast()
    address = f"/api/v1/aircraft/{reviewed.aircraft.id}/review-pack"
    not_there(other.pilot, address, f"{address}.pdf")
    assert other.programs[Role.ADMINISTRATOR].get(f"{address}.pdf/").status_code == 404


@pytest.mark.parametrize("address", ["review-pack", "review-pack.pdf"])
def test_wrong_questions_are_refused(cast: Cast, reviewed: Reviewed, address: str) -> None:
    full = f"/api/v1/aircraft/{reviewed.aircraft.id}/{address}"
    assert pointers(problem(cast.pilot.get(full, {"since": "soon"}), 422, "invalid")) == {"/since": "invalid"}
    problem(cast.pilot.get(full, {"from": "2025-01-01"}), 422, "invalid")
    problem(cast.pilot.post(full, {}), 405, "method_not_allowed")
