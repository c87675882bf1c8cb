"""Usage from files over HTTP."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.api import usage_import
from fleet.models import Aircraft, Role, UsageEntry
from tests.api.cast import Cast, make_cast
from tests.api.clients import anonymous, pointers, problem
from tests.factories import make_aircraft
from tests.factories.usage import opened
from tests.fleet.igc_files import hop, igc_file
from tests.unchanged import unchanged

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/usage-entries/import"
TABLE = b"date,minutes,winch\n2025-05-10,95,6\n2025-05-11,1:40,4\n"
BAD = TABLE + b"2025-05-12,x,1\n2025-05-13,-5,1\n"
FLIGHT = igc_file(hop("10:00", "10:30"))
NOT_DATA = ("fleet_apitoken",)


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def aircraft(cast: Cast) -> Aircraft:
    made = make_aircraft(cast.club, registration="ZZ-K01")
    opened(made)
    return made


def send(program: Any, aircraft: Aircraft, data: bytes = TABLE, name: str = "usage.csv", **form: Any) -> Any:
    headers = form.pop("headers", {})
    body = {"file": SimpleUploadedFile(name, data), "aircraft": str(aircraft.id), **form}
    return program.post(ADDRESS, body, format="multipart", headers=headers)


def sent(program: Any, aircraft: Aircraft, *args: Any, **form: Any) -> dict[str, Any]:
    answer = send(program, aircraft, *args, **form)
    assert answer.status_code == 200, answer.content
    body: dict[str, Any] = answer.json()
    return body


def test_first_dry_then_real_then_again(cast: Cast, aircraft: Aircraft) -> None:
    with unchanged(besides=NOT_DATA):
        told = sent(cast.pilot, aircraft, dry_run="true")
    assert (told["dry_run"], told["accepted"], told["duplicates"], told["entries"]) == (True, 2, 0, [])
    assert [(line["line"], line["airframe_minutes"], line["launches"]) for line in told["lines"]] == [
        (2, 95, 6),
        (3, 100, 4),
    ]
    assert (told["totals_before"]["airframe_minutes"], told["totals_after"]["airframe_minutes"]) == (60_000, 60_195)
    done = sent(cast.pilot, aircraft)
    assert (done["dry_run"], done["accepted"], len(done["entries"])) == (False, 2, 2)
    assert done["totals_after"] == told["totals_after"]
    assert done["airworthiness"] == told["airworthiness"]
    listed = cast.auditor.get("/api/v1/usage-entries?source=csv").json()["results"]
    assert sorted(entry["id"] for entry in listed) == sorted(done["entries"])
    with unchanged(besides=NOT_DATA):
        again = sent(cast.officer, aircraft, dry_run="false")
    assert (again["accepted"], again["duplicates"], again["entries"]) == (0, 2, [])


def test_bad_rows_are_listed_or_refuse_the_whole(cast: Cast, aircraft: Aircraft) -> None:
    told = sent(cast.pilot, aircraft, BAD, dry_run="true")
    assert [(note["line"], note["code"]) for note in told["rejected"]] == [(4, "unreadable"), (5, "unreadable")]
    assert told["rejected"][0]["detail"].startswith("Column minutes: 'x' is neither")
    with unchanged(besides=NOT_DATA):
        body = problem(send(cast.pilot, aircraft, BAD), 422, "invalid")
    assert pointers(body) == {"/file/4": "unreadable", "/file/5": "unreadable"}
    assert [error["detail"][:7] for error in body["errors"]] == ["Line 4:", "Line 5:"]


def test_a_flight_recorder_file(cast: Cast, aircraft: Aircraft) -> None:
    done = sent(cast.pilot, aircraft, FLIGHT, "flight.igc", launch_kind="aerotow")
    assert (done["accepted"], done["warnings"]) == (1, [])
    entry = cast.pilot.get(f"/api/v1/usage-entries/{done['entries'][0]}").json()
    assert (entry["source"], entry["airframe_minutes"], entry["aerotow_launches"]) == ("flight_recorder", 30, 1)
    assert entry["flown_on"] == "2025-05-14"


def test_a_broken_recorder_file_is_refused_with_its_line(cast: Cast, aircraft: Aircraft) -> None:
    cut = FLIGHT[: FLIGHT.index(b"B101000") + 12]
    body = problem(send(cast.pilot, aircraft, cut, "flight.igc", launch_kind="winch"), 422, "invalid")
    assert pointers(body) == {f"/file/{len(cut.splitlines())}": "broken_fix"}


@pytest.mark.parametrize(
    ("data", "form", "expected"),
    [
        (TABLE, {"format": "xlsx"}, {"/format": "invalid_choice"}),
        (TABLE, {"dry_run": "1"}, {"/dry_run": "invalid"}),
        (TABLE, {"dry_run": "yes"}, {"/dry_run": "invalid"}),
        (TABLE, {"launch_kind": "rocket"}, {"/launch_kind": "invalid_choice"}),
        (TABLE, {"launch_kind": "winch"}, {"/launch_kind": "not_here"}),
        (TABLE, {"format": "igc", "launch_kind": "winch"}, {"/file/1": "not_igc"}),
        (FLIGHT, {"format": "igc"}, {"/launch_kind": "required"}),
        (FLIGHT, {"format": "csv"}, {"/file/3": "encoding"}),
        (b"", {}, {"/file": "empty"}),
        (TABLE, {"colour": "red"}, {"/colour": "unknown_field"}),
        (TABLE, {"dry_run": ["true", "false"]}, {"/dry_run": "repeated"}),
    ],
)
def test_wrong_fields_are_named(
    cast: Cast, aircraft: Aircraft, data: bytes, form: dict[str, Any], expected: dict[str, str]
) -> None:
    with unchanged(besides=NOT_DATA):
        body = problem(send(cast.pilot, aircraft, data, **form), 422, "invalid")
    assert pointers(body) == expected


def test_without_a_body_everything_is_missing(cast: Cast) -> None:
    body = problem(cast.pilot.post(ADDRESS), 422, "invalid")
    assert pointers(body) == {"/file": "required", "/aircraft": "required"}


def test_a_file_that_is_too_large(cast: Cast, aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(usage_import, "MOST_BYTES", len(TABLE) - 1)
    problem(send(cast.pilot, aircraft), 413, "too_large")
    monkeypatch.setattr(usage_import.UsageImportView, "max_upload_bytes", 100)
    problem(send(cast.pilot, aircraft), 413, "too_large")
    assert not UsageEntry.objects.filter(source="csv").exists()


def test_a_key_imports_once(cast: Cast, aircraft: Aircraft) -> None:
    first, again = (send(cast.pilot, aircraft, headers={"Idempotency-Key": "k1"}) for _ in range(2))
    assert first.content == again.content
    assert UsageEntry.objects.filter(source="csv").count() == 2


def test_who_may(cast: Cast, aircraft: Aircraft) -> None:
    for role in (Role.AUDITOR, Role.ADMINISTRATOR):
        problem(send(cast.programs[role], aircraft), 403, "forbidden")
    problem(send(anonymous(), aircraft), 401, "not_authenticated")
    problem(send(make_cast().officer, aircraft), 404, "not_found")
