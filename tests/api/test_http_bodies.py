"""What is read: strict JSON, strict types, hostile bodies."""

from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any
from uuid import uuid4

import orjson
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory
from django.utils import timezone

from fleet.api.parsers import JsonObject
from fleet.api.refusals import TooLarge
from fleet.models import AircraftType, Membership
from fleet.services import access
from tests.api.clients import client_of, pointers, problem
from tests.api.throwaway import ThingsView
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


def send(member: Membership, raw: bytes) -> Any:
    return client_of(member).post(THINGS, raw, content_type="application/json")


MALFORMED = {
    "half": b'{"name": "on',
    "nothing but space": b"   ",
    "two": b"{}{}",
    "array": b"[]",
    "string": b'"name"',
    "number": b"1",
    "null": b"null",
    "NaN": b'{"name": NaN}',
    "infinity": b'{"name": Infinity}',
    "infinite number": b'{"seats": 1e999}',
    "trailing comma": b'{"name": "one",}',
    "single quotes": b"{'name': 'one'}",
    "comment": b'{"name": "one"} // one',
    "not UTF-8": b'{"name": "\xff"}',
    "UTF-16": '{"name": "one"}'.encode("utf-16"),
    "byte order mark": b'\xef\xbb\xbf{"name": "one"}',
    "lone surrogate": b'{"name": "\\ud800"}',
    "raw NUL": b'{"name": "\x00"}',
    "raw control character": b'{"name": "a\x01"}',
    "very deep": b'{"name": ' + b"[" * 5000 + b"]" * 5000 + b"}",
    "gzip": bytes.fromhex("1f8b08000000000000ff"),
}


@pytest.mark.parametrize("raw", MALFORMED.values(), ids=MALFORMED)
def test_what_is_no_json_object_is_a_400(pilot: Membership, raw: bytes) -> None:
    problem(send(pilot, raw), 400, "malformed")
    assert not AircraftType.objects.exists()


@pytest.mark.parametrize("depth", [32, 200, 300, 990])
@pytest.mark.parametrize("inside", [b"", rb'"\u0000"'], ids=["plain", "with NUL"])
def test_deep_but_readable_json_is_a_422(pilot: Membership, depth: int, inside: bytes) -> None:
    """Also where the body is walked: for NUL characters, for its fingerprint, for unknown fields."""
    raw = b'{"name": ' + b"[" * depth + inside + b"]" * depth + b"}"
    body = problem(
        client_of(pilot).post(THINGS, raw, content_type="application/json", HTTP_IDEMPOTENCY_KEY="k"), 422, "invalid"
    )
    assert pointers(body) == {"": "too_deep"}


def test_many_errors_are_cut_short(pilot: Membership) -> None:
    body = problem(send(pilot, orjson.dumps({f"f{number}": 1 for number in range(5000)})), 422, "invalid")
    assert len(body["errors"]) == 100


def test_an_empty_body_is_an_empty_object(pilot: Membership) -> None:
    assert pointers(problem(send(pilot, b""), 422, "invalid")) == {"/name": "required"}


def test_of_a_name_that_comes_twice_the_last_counts(pilot: Membership) -> None:
    assert send(pilot, b'{"name": "one", "name": "two"}').json()["name"] == "two"


@pytest.mark.parametrize("content_type", ["application/json; charset=utf-8", "APPLICATION/JSON"])
def test_the_media_type_is_read_with_parameters(pilot: Membership, content_type: str) -> None:
    assert client_of(pilot).post(THINGS, b'{"name": "one"}', content_type=content_type).status_code == 201


def test_nul_is_refused_before_the_database_at_every_depth(pilot: Membership) -> None:
    raw = rb'{"name": "a\u0000b", "results": [{"item": "ok"}, {"item": "\u0000"}], "\u0000key": 1}'
    expected = {"/name": "null_character", "/results/1/item": "null_character", "/\ufffdkey": "null_character"}
    assert pointers(problem(send(pilot, raw), 422, "invalid")) == expected


def test_an_escaped_backslash_is_no_nul(pilot: Membership) -> None:
    assert send(pilot, rb'{"name": "a\\u0000b"}').json()["name"] == r"a\u0000b"


def test_a_large_body_is_a_413(pilot: Membership, settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    problem(send(pilot, orjson.dumps({"name": "x" * 1000})), 413, "too_large")
    assert send(pilot, orjson.dumps({"name": "x" * 80})).status_code == 201


def test_a_body_without_length_is_refused_and_not_taken_for_an_empty_one(pilot: Membership) -> None:
    """WSGI hands a chunked body on without a length, and the framework reads none of it."""
    request = RequestFactory().generic("POST", THINGS, b"", HTTP_TRANSFER_ENCODING="chunked")
    request.META.pop("CONTENT_LENGTH", None)
    _token, secret = access.issue_token(by=pilot, name="test", at=timezone.now())
    request.META["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
    assert ThingsView.as_view()(request).status_code == 400


def test_a_large_body_without_a_length_is_read_no_further(settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    stream = BytesIO(orjson.dumps({"name": "x" * 5000}))
    with pytest.raises(TooLarge):
        JsonObject().parse(stream)
    assert stream.tell() == 1001


WRONG_TYPES: dict[tuple[str, str], list[Any]] = {
    ("name", "invalid"): [1, 1.5, True, [], {}, ["one"]],
    ("name", "null"): [None],
    ("name", "blank"): ["", "   ", "\t\n", "\u200b", "\u2060\ufeff", "\u00a0"],
    ("name", "max_length"): ["x" * 81],
    ("seats", "invalid"): ["3", 1.5, True, [], "three", 1e300],
    ("seats", "min_value"): [0],
    ("seats", "max_value"): [21, 10**18],
    ("seats", "null"): [None],
    ("tail", "invalid"): ["true", 1, 0, "yes", [], ""],
    ("owner", "invalid"): [5, "x", "", [], True],
    ("id", "invalid"): [5, "x", True, {}],
    ("results", "not_a_list"): [{}, "x", 1],
    ("unknown", "unknown_field"): [1],
    ("Name", "unknown_field"): ["one"],
    ("seen_at", "null"): [None],
    ("seen_at", "invalid_instant"): [
        "2025-05-01T10:00:00",  # no offset
        "2025-05-01",
        "2025-05-01T10:00Z",
        "2025-02-30T10:00:00Z",
        "2025-05-01T25:00:00Z",
        "2025-05-01T10:00:00+25:00",
        "20250501T100000Z",
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00",
        "2025-05-01T10:00:00Z\n",
        "\u0662025-05-01T10:00:00Z",
        "now",
        "",
        1746093600,
        True,
        [],
    ],
}
CASES = [(field, value, code) for (field, code), values in WRONG_TYPES.items() for value in values]


@pytest.mark.parametrize(("field", "value", "code"), CASES, ids=lambda value: repr(value)[:30])
def test_a_wrong_value_is_a_422_that_names_its_field(pilot: Membership, field: str, value: Any, code: str) -> None:
    body = problem(client_of(pilot).post(THINGS, {"name": "one", field: value}), 422, "invalid")
    assert pointers(body) == {f"/{field}": code}
    assert not AircraftType.objects.exists()


QUANTITIES: list[tuple[Any, str]] = [
    ({"value": "2.5", "unit": "bar"}, "/value"),
    ({"value": True, "unit": "bar"}, "/value"),
    ({"value": None, "unit": "bar"}, "/value"),
    ({"value": 1e200, "unit": "bar"}, "/value"),
    ({"value": 1.123456, "unit": "bar"}, "/value"),
    ({"unit": "bar"}, "/value"),
    ({"value": 2.5}, "/unit"),
    ({"value": 2.5, "unit": ""}, "/unit"),
    ({"value": 2.5, "unit": "b ar"}, "/unit"),
    ({"value": 2.5, "unit": "bär"}, "/unit"),
    ({"value": 2.5, "unit": 1}, "/unit"),
    ({"value": 2.5, "unit": "bar", "note": ""}, "/note"),
    (2.5, ""),
    ([2.5, "bar"], ""),
]


@pytest.mark.parametrize(("value", "pointer"), QUANTITIES, ids=lambda value: repr(value)[:30])
def test_a_wrong_quantity_is_a_422(pilot: Membership, value: Any, pointer: str) -> None:
    sent = {"name": "one", "results": [{"item": "tyre", "measurement": value}]}
    body = problem(client_of(pilot).post(THINGS, sent), 422, "invalid")
    assert set(pointers(body)) == {f"/results/0/measurement{pointer}"}


@pytest.mark.parametrize("value", [2.5, 0, -1, 4, 0.0001, 99999999])
def test_a_good_quantity_is_read(pilot: Membership, value: float) -> None:
    sent = {"name": "one", "results": [{"item": "tyre", "measurement": {"value": value, "unit": "bar"}}]}
    assert client_of(pilot).post(THINGS, sent).status_code == 201


@pytest.mark.parametrize("item", ["Main", "main pin", "-main", "main\n", "mäin", 7, "x" * 61])
def test_a_wrong_item_code_is_a_422(pilot: Membership, item: Any) -> None:
    body = problem(client_of(pilot).post(THINGS, {"name": "one", "results": [{"item": item}]}), 422, "invalid")
    assert set(pointers(body)) == {"/results/0/item"}


@pytest.mark.parametrize(
    "value",
    ["2025-05-01T10:00:00Z", "2025-05-01T10:00:00.123456+02:00", "2025-05-01t10:00:00z", "2025-05-01 10:00:00-03:30"],
)
def test_an_instant_with_its_offset_is_read(pilot: Membership, value: str) -> None:
    """RFC 3339, section 5.6: ``t`` and ``z`` may be lower case, and a space may separate date and time."""
    assert client_of(pilot).post(THINGS, {"name": "one", "seen_at": value}).status_code == 201


def test_the_future_begins_five_minutes_ahead(pilot: Membership) -> None:
    now = timezone.now()
    soon, later = (now + timedelta(minutes=minutes) for minutes in (4.5, 5.5))
    client = client_of(pilot)
    assert client.post(THINGS, {"name": "one", "seen_at": soon.isoformat()}).status_code == 201
    body = problem(client.post(THINGS, {"name": "two", "seen_at": later.isoformat()}), 422, "invalid")
    assert pointers(body) == {"/seen_at": "in_future"}
    assert client.post(THINGS, {"name": "three", "planned_at": later.isoformat()}).status_code == 201


def test_instants_are_answered_in_utc_with_z(pilot: Membership) -> None:
    client = client_of(pilot)
    answered = client.get("/api/v1/tokens").json()["results"][0]["created_at"]
    assert answered.endswith("Z")
    assert datetime.fromisoformat(answered).tzinfo == UTC


def test_text_is_trimmed_and_kept_otherwise(pilot: Membership) -> None:
    name = "  Größe ✓ <script>'\"; DROP TABLE --  "
    assert client_of(pilot).post(THINGS, {"name": name}).json()["name"] == name.strip()


def test_with_and_without_a_slash_at_the_end(pilot: Membership) -> None:
    client = client_of(pilot)
    made = client.post(f"{THINGS}/", {"name": "one"})
    assert made.status_code == 201
    for path in (THINGS, f"{THINGS}/", f"{THINGS}/{made.json()['id']}", f"{THINGS}/{made.json()['id']}/"):
        assert client.get(path).status_code == 200


class TestMultipart:
    """Files with fields."""

    def send(self, member: Membership, content: Any = b"abc", **fields: Any) -> Any:
        sent = {"file": SimpleUploadedFile("photo.jpg", content), "name": "one", **fields}
        return client_of(member).post("/api/v1/uploads", sent, format="multipart")

    def test_is_read(self, pilot: Membership) -> None:
        assert self.send(pilot).json()["bytes"] == 3

    def test_too_large_is_a_413(self, pilot: Membership) -> None:
        problem(self.send(pilot, b"x" * 20_000), 413, "too_large")

    def test_nul_in_a_field_is_a_422(self, pilot: Membership) -> None:
        assert set(pointers(problem(self.send(pilot, name="a\0b"), 422, "invalid"))) == {"/name/0"}

    @pytest.mark.parametrize("raw", [b"", b"--x", b"--x\r\nContent-Disposition: form-data\r\n\r\n", b"\x00" * 100])
    def test_half_a_body_is_no_500(self, pilot: Membership, raw: bytes) -> None:
        response = client_of(pilot).post("/api/v1/uploads", raw, content_type="multipart/form-data; boundary=x")
        assert response.status_code < 500 or b"KeyError" not in response.content

    def test_without_a_boundary_is_a_400(self, pilot: Membership) -> None:
        problem(client_of(pilot).post("/api/v1/uploads", b"abc", content_type="multipart/form-data"), 400, "malformed")

    def test_a_thousand_fields_are_a_413(self, pilot: Membership) -> None:
        problem(self.send(pilot, **{f"f{number}": "" for number in range(1100)}), 413, "too_large")

    def test_json_is_a_415(self, pilot: Membership) -> None:
        problem(client_of(pilot).post("/api/v1/uploads", {"name": "one"}), 415, "unsupported_media_type")

    def test_the_same_file_under_the_same_id_is_stored_once(self, pilot: Membership) -> None:
        own = str(uuid4())
        first, again, other = (self.send(pilot, content, id=own) for content in (b"abc", b"abc", b"abd"))
        assert (first.status_code, again.status_code) == (201, 200)
        assert again.content == first.content
        problem(other, 409, "id_taken")
        assert AircraftType.objects.count() == 1
