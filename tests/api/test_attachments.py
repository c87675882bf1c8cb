"""Attachments over HTTP: kept for the club's members, whatever was sent never by anybody's browser run."""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from pytest_django import Settings

from defects.models import Defect
from fleet import events
from fleet.models import Attachment, Event, Role
from inspections.models import Inspection
from tests.api.cast import Cast, make_cast, not_there, only_for
from tests.api.clients import anonymous, pointers, problem
from tests.factories import inspect, make_aircraft, reported
from tests.fleet.files import JPEG, PDF, jpeg, located_jpeg, pdf, png
from tests.fleet.hostile import REFUSED, Hostile

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/attachments"


@pytest.fixture
def folder(settings: Settings, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def cast(folder: Path) -> Cast:
    return make_cast()


@pytest.fixture
def defect(cast: Cast) -> Defect:
    return reported(make_aircraft(cast.club))


def upload(data: bytes = b"", name: str = "photo.jpg", declared: str = JPEG) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data or jpeg(), declared)


def send(program: Any, form: dict[str, Any], **options: Any) -> Any:
    return program.post(ADDRESS, form, format="multipart", **options)


def attached(program: Any, defect: Defect, **form: Any) -> dict[str, Any]:
    answer = send(program, {"file": upload(), "defect": str(defect.id), **form})
    assert answer.status_code == 201, answer.content
    body: dict[str, Any] = answer.json()
    return body


def files(folder: Path) -> list[Path]:
    return [one for one in folder.rglob("*") if one.is_file()]


def test_a_photo_of_a_defect(cast: Cast, defect: Defect, folder: Path) -> None:
    answer = send(cast.pilot, {"file": upload(located_jpeg()), "defect": str(defect.id), "caption": "Root rib"})
    assert answer.status_code == 201, answer.content
    made = answer.json()
    assert (made["defect"], made["inspection"], made["aircraft"]) == (str(defect.id), None, str(defect.aircraft_id))
    assert (made["caption"], made["content_type"], made["width"], made["height"]) == ("Root rib", JPEG, 32, 64)
    assert made["uploaded_by"]["id"] == str(cast.members[Role.PILOT].id)
    assert made["airworthiness"]["status"] == "grounded"  # by now: the defect was never triaged
    found = cast.auditor.get(answer["Location"])
    assert found["ETag"] == answer["ETag"]
    assert found.json().items() <= made.items()
    (stored,) = files(folder)
    assert stored == folder / str(cast.club.id) / made["id"]
    assert stored.stat().st_mode & 0o777 == 0o600
    data = stored.read_bytes()
    assert (hashlib.sha256(data).hexdigest(), len(data)) == (made["sha256"], made["size_bytes"])
    assert b"Exif" not in data


def test_it_is_recorded_in_the_chain_of_the_aircraft(cast: Cast, defect: Defect) -> None:
    made = attached(cast.pilot, defect, caption="Root rib")
    event = Event.objects.get(kind="attachment_add")
    assert (event.aircraft_id, str(event.subject_id)) == (defect.aircraft_id, made["id"])
    assert made["sha256"] in event.canonical
    assert events.verify(cast.club).valid
    told = cast.pilot.get(f"/api/v1/aircraft/{defect.aircraft_id}/history?kind=attachment_add").json()["results"]
    assert told[0]["summary"] == "Attached to this defect: image/jpeg: Root rib."


def test_a_paper_of_an_inspection(cast: Cast) -> None:
    inspection: Inspection = inspect(make_aircraft(cast.club)).inspection
    form = {"file": upload(pdf(), "paper.pdf", PDF), "inspection": str(inspection.id)}
    made = send(cast.officer, form).json()
    assert (made["inspection"], made["defect"]) == (str(inspection.id), None)
    assert (made["content_type"], made["width"], made["caption"]) == (PDF, None, "")
    listed = cast.pilot.get(f"{ADDRESS}?inspection={inspection.id}").json()["results"]
    assert [one["id"] for one in listed] == [made["id"]]


def test_content_is_saved_and_never_shown(cast: Cast, defect: Defect) -> None:
    made = attached(cast.pilot, defect)
    answer: Any = cast.auditor.get(made["content"], headers={"Accept": "image/avif,image/*"})
    data = b"".join(answer.streaming_content)
    assert (answer.status_code, answer["Content-Type"]) == (200, JPEG)
    assert hashlib.sha256(data).hexdigest() == made["sha256"]
    assert answer["Content-Length"] == str(made["size_bytes"])
    assert answer["Content-Disposition"] == f'attachment; filename="{made["id"]}.jpg"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer["ETag"] == f'"{made["sha256"]}"'
    assert "private" in answer["Cache-Control"]
    again = cast.auditor.get(made["content"], headers={"If-None-Match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_another_club_sees_nothing(cast: Cast, defect: Defect) -> None:
    made = attached(cast.pilot, defect)
    other = make_cast()
    not_there(other.officer, f"{ADDRESS}/{made['id']}", made["content"], f"{ADDRESS}/{uuid4()}/content")
    assert other.officer.get(f"{ADDRESS}?defect={defect.id}").json()["results"] == []
    problem(anonymous().get(made["content"]), 401, "not_authenticated")
    answer = send(other.pilot, {"file": upload(), "defect": str(defect.id)})
    assert pointers(problem(answer, 404, "not_found")) == {"/defect": "not_found"}
    assert Attachment.objects.count() == 1


def test_everybody_but_an_auditor_attaches(cast: Cast, defect: Defect) -> None:
    only_for(cast, set(Role) - {Role.AUDITOR}, "post", ADDRESS)
    for role in set(Role) - {Role.AUDITOR}:
        attached(cast.programs[role], defect)


@pytest.mark.parametrize("hostile", REFUSED.values(), ids=REFUSED)
def test_a_hostile_file_is_refused_and_leaves_nothing(
    cast: Cast, defect: Defect, folder: Path, hostile: Hostile
) -> None:
    recorded = Event.objects.count()
    answer = send(
        cast.pilot, {"file": upload(hostile.make(), hostile.name, hostile.declared), "defect": str(defect.id)}
    )
    kind = {415: "unsupported_media_type", 413: "too_large", 422: "invalid"}[hostile.status]
    body = problem(answer, hostile.status, kind)
    if hostile.status == 422:
        assert pointers(body) == {"/file": hostile.code}
    assert not Attachment.objects.exists()
    assert Event.objects.count() == recorded
    assert files(folder) == []


@pytest.mark.parametrize("name", ["../../../etc/passwd.jpg", "C:\\boot.jpg", "a" * 90 + ".jpg", ".jpg", "φωτο.jpg"])
def test_the_name_leads_nowhere(cast: Cast, defect: Defect, folder: Path, name: str) -> None:
    made = attached(cast.pilot, defect, file=upload(name=name))
    assert files(folder) == [folder / str(cast.club.id) / made["id"]]


def test_an_empty_file(cast: Cast, defect: Defect) -> None:
    empty = SimpleUploadedFile("photo.jpg", b"", JPEG)
    answer = send(cast.pilot, {"file": empty, "defect": str(defect.id)})
    assert pointers(problem(answer, 422, "invalid")) == {"/file": "empty"}


def test_a_body_that_is_too_large_is_not_even_read(
    cast: Cast, defect: Defect, settings: Settings, folder: Path
) -> None:
    settings.ATTACHMENT_MAX_BYTES = 1000
    answer = send(cast.pilot, {"file": upload(bytes(200_000)), "defect": str(defect.id)})
    assert "reads at most" in problem(answer, 413, "too_large")["detail"]
    answer = send(cast.pilot, {"file": upload(jpeg() + bytes(1001)), "defect": str(defect.id)})
    problem(answer, 413, "too_large")
    assert files(folder) == []


def forms(defect: Defect) -> Iterator[tuple[dict[str, Any], dict[str, str]]]:
    one = str(defect.id)
    yield {"defect": one}, {"/file": "required"}
    yield {"file": "text instead", "defect": one}, {"/file": "invalid"}
    yield {"file": upload()}, {"/defect": "exactly_one"}
    yield {"file": upload(), "defect": one, "inspection": str(uuid4())}, {"/defect": "exactly_one"}
    yield {"file": upload(), "defect": "first"}, {"/defect": "invalid"}
    yield {"file": upload(), "defect": one, "caption": "x" * 201}, {"/caption": "max_length"}
    yield {"file": upload(), "defect": one, "aircraft": one}, {"/aircraft": "unknown_field"}
    yield {"file": [upload(), upload()], "defect": one}, {"/file": "repeated"}
    yield {"file": upload(), "second": upload(), "defect": one}, {"/second": "unknown_field"}


def test_wrong_forms_are_named(cast: Cast, defect: Defect, folder: Path) -> None:
    for form, expected in forms(defect):
        assert pointers(problem(send(cast.pilot, form), 422, "invalid")) == expected
    assert files(folder) == []


def test_json_is_no_form(cast: Cast, defect: Defect) -> None:
    problem(cast.pilot.post(ADDRESS, {"defect": str(defect.id)}), 415, "unsupported_media_type")


def test_half_a_form(cast: Cast, defect: Defect, folder: Path) -> None:
    body = b'--b\r\nContent-Disposition: form-data; name="file"; filename="a.jpg"\r\n\r\n' + jpeg()[:100]
    answer = cast.pilot.generic("POST", ADDRESS, body, content_type="multipart/form-data; boundary=b")  # type: ignore[arg-type]
    assert answer.status_code in {400, 422}
    answer = cast.pilot.generic("POST", ADDRESS, body, content_type="multipart/form-data")  # type: ignore[arg-type]
    problem(answer, 400, "malformed")
    assert files(folder) == []


def test_sent_twice_kept_once(cast: Cast, defect: Defect, folder: Path) -> None:
    own = str(uuid4())
    data = jpeg()
    first = send(cast.pilot, {"id": own, "file": upload(data), "defect": str(defect.id)})
    again = send(cast.pilot, {"id": own, "file": upload(data), "defect": str(defect.id)})
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    other = send(cast.pilot, {"id": own, "file": upload(jpeg()), "defect": str(defect.id)})
    problem(other, 409, "id_taken")
    assert len(files(folder)) == Attachment.objects.count() == 1


def test_an_id_of_another_club_destroys_nothing(cast: Cast, defect: Defect, folder: Path) -> None:
    made = attached(cast.pilot, defect)
    other = make_cast()
    theirs = reported(make_aircraft(other.club))
    answer = send(other.pilot, {"id": made["id"], "file": upload(), "defect": str(theirs.id)})
    problem(answer, 409, "id_taken")
    (stored,) = files(folder)
    assert hashlib.sha256(stored.read_bytes()).hexdigest() == made["sha256"]


def test_an_act_that_is_undone_leaves_no_file(
    cast: Cast, defect: Defect, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        assert len(files(folder)) == 1
        raise RuntimeError("the disk of the database is full")

    with monkeypatch.context() as patch:
        patch.setattr("inspections.services.attachments._link", fail)
        problem(send(cast.pilot, {"file": upload(), "defect": str(defect.id)}), 500, "internal_error")
    assert not Attachment.objects.exists()
    assert files(folder) == []
    attached(cast.pilot, defect)


def test_lost_content_is_told(cast: Cast, defect: Defect, folder: Path) -> None:
    made = attached(cast.pilot, defect)
    files(folder)[0].unlink()
    assert problem(cast.pilot.get(made["content"]), 404, "not_found")["code"] == "content_lost"


def test_it_is_never_changed(cast: Cast, defect: Defect) -> None:
    made = attached(cast.pilot, defect)
    for method in ("patch", "delete"):
        answer = getattr(cast.administrator, method)(f"{ADDRESS}/{made['id']}", headers={"If-Match": "*"})
        problem(answer, 405, "method_not_allowed")


def test_an_attachment_of_the_same_aircraft_may_prove_a_document(cast: Cast, defect: Defect) -> None:
    made = attached(cast.pilot, defect, file=upload(pdf(), "paper.pdf", PDF))
    body = {"aircraft": str(defect.aircraft_id), "kind": "other", "issued_on": "2025-02-01", "attachment": made["id"]}
    document = cast.officer.post("/api/v1/documents", body)
    assert (document.status_code, document.json()["attachment"]) == (201, made["id"])
    elsewhere = {**body, "aircraft": str(make_aircraft(cast.club).id)}
    answer = cast.officer.post("/api/v1/documents", elsewhere)
    assert pointers(problem(answer, 422, "invalid")) == {"/attachment": "unknown_attachment"}


def test_constant_queries(cast: Cast, defect: Defect, django_assert_num_queries: Any) -> None:
    cast.auditor.get(ADDRESS)  # notes the use of the token
    for count in (1, 2, 3):
        attached(cast.pilot, defect, file=upload(png(), "photo.png", "image/png"))
        with django_assert_num_queries(2):  # token, attachments
            found = cast.auditor.get(f"{ADDRESS}?defect={defect.id}&aircraft={defect.aircraft_id}").json()["results"]
        assert len(found) == count


def test_an_answer_that_cannot_be_kept_leaves_no_file(
    cast: Cast, defect: Defect, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the act itself: what undoes the transaction then is the last thing before the commit."""

    def fail(*_: object) -> None:
        assert len(files(folder)) == 1
        raise RuntimeError("the connection broke")

    monkeypatch.setattr("fleet.api.idempotency.Kept.keep", fail)
    answer = send(cast.pilot, {"file": upload(), "defect": str(defect.id)}, headers={"Idempotency-Key": "one"})
    problem(answer, 500, "internal_error")
    assert not Attachment.objects.exists()
    assert files(folder) == []


def test_an_id_that_exists_keeps_its_file(cast: Cast, defect: Defect, folder: Path) -> None:
    """The service chose the id, so no answer is kept under it; the key of the row alone guards the file."""
    made = attached(cast.pilot, defect)
    problem(send(cast.pilot, {"id": made["id"], "file": upload(), "defect": str(defect.id)}), 409, "id_taken")
    assert hashlib.sha256(files(folder)[0].read_bytes()).hexdigest() == made["sha256"]
