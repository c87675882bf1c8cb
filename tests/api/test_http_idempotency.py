"""A POST that comes twice acts once: by Idempotency-Key and by the client's own id."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone
from rest_framework.response import Response
from rest_framework.test import APIClient

from fleet.models import AircraftType, IdempotencyRecord, Membership, Role
from fleet.services import access
from tests.api.clients import client_of, problem
from tests.api.throwaway import OutcomeView
from tests.factories import MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


@pytest.fixture
def client(pilot: Membership) -> APIClient:
    return client_of(pilot)


def post(client: APIClient, key: str, body: dict[str, Any] | None = None, path: str = THINGS) -> Any:
    return client.post(path, {"name": "one"} if body is None else body, HTTP_IDEMPOTENCY_KEY=key)


class TestKey:
    def test_the_replay_is_the_first_answer(self, client: APIClient) -> None:
        first, again = post(client, "k"), post(client, "k")
        assert (first.status_code, again.status_code) == (201, 201)
        assert again.content == first.content
        assert (again["Location"], again["ETag"], again["Content-Type"]) == (
            first["Location"],
            first["ETag"],
            first["Content-Type"],
        )
        assert "Idempotency-Replayed" not in first
        assert again["Idempotency-Replayed"] == "true"
        assert AircraftType.objects.count() == 1

    def test_order_of_names_and_a_slash_make_no_other_request(self, client: APIClient) -> None:
        post(client, "k", {"name": "one", "seats": 2})
        again = post(client, "k", {"seats": 2, "name": "one"}, f"{THINGS}/")
        assert again["Idempotency-Replayed"] == "true"

    @pytest.mark.parametrize("body", [{"name": "two"}, {"name": "one", "seats": 1}, {}])
    def test_other_content_is_a_422(self, client: APIClient, body: dict[str, Any]) -> None:
        post(client, "k")
        problem(post(client, "k", body), 422, "key_reused")
        assert AircraftType.objects.count() == 1

    def test_another_address_is_a_422(self, client: APIClient) -> None:
        thing = post(client, "k").json()
        problem(post(client, "k", path=f"{THINGS}/{thing['id']}/act"), 422, "key_reused")

    def test_keys_of_two_members_are_two_keys(self, client: APIClient, pilot: Membership) -> None:
        post(client, "k")
        other = client_of(MemberFactory.create(club=pilot.club))
        assert post(other, "k", {"name": "two"}).status_code == 201
        assert AircraftType.objects.count() == 2

    def test_a_refusal_is_not_kept(self, client: APIClient) -> None:
        problem(post(client, "k", {"name": ""}), 422, "invalid")
        assert not IdempotencyRecord.objects.exists()
        assert post(client, "k").status_code == 201

    def test_roles_are_asked_before_the_replay(self, client: APIClient, pilot: Membership) -> None:
        post(client, "k")
        Membership.objects.filter(pk=pilot.pk).update(roles=[Role.AUDITOR])
        problem(post(client, "k"), 403, "forbidden")

    @pytest.mark.parametrize(("bare", "quoted"), [("k-1", '"k-1"'), ('a"b', r'"a\"b"'), ("a\\b", r'"a\\b"')])
    def test_quoted_and_bare_are_the_same_key(self, client: APIClient, bare: str, quoted: str) -> None:
        """RFC 9651, section 3.3.3: a string is quoted; backslash escapes the quote and itself."""
        post(client, bare)
        assert post(client, quoted)["Idempotency-Replayed"] == "true"

    @pytest.mark.parametrize("key", ["", " ", '""', "k" * 256, "k\xe9y", "k\ty"])
    def test_what_is_no_key_is_a_400(self, client: APIClient, key: str) -> None:
        problem(post(client, key), 400, "malformed")
        assert not AircraftType.objects.exists()

    def test_the_longest_key_is_kept(self, client: APIClient) -> None:
        assert post(client, "k" * 255).status_code == 201
        assert post(client, "k" * 255)["Idempotency-Replayed"] == "true"

    def test_answer_and_act_stand_or_fall_together(self, client: APIClient, monkeypatch: pytest.MonkeyPatch) -> None:
        def broken(*_: Any, **__: Any) -> None:
            raise RuntimeError

        with monkeypatch.context() as patch:
            patch.setattr(IdempotencyRecord.objects, "create", broken)
            problem(post(client, "k"), 500, "internal_error")
        assert not AircraftType.objects.exists()
        assert post(client, "k").status_code == 201

    def test_keys_are_forgotten_after_thirty_days_and_ids_are_not(self, client: APIClient) -> None:
        post(client, "k", {"name": "one", "id": str(uuid4())})
        assert IdempotencyRecord.objects.count() == 2
        now = timezone.now()
        assert access.forget_old_keys(now + timedelta(days=29)) == 0
        assert access.forget_old_keys(now + timedelta(days=31)) == 1
        assert [record.key[:3] for record in IdempotencyRecord.objects.all()] == ["id:"]

    def test_an_outcome_of_204_is_replayed_too(self, client: APIClient, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(OutcomeView, "outcome", lambda: Response(status=204))
        first, again = (post(client, "k", {}, "/api/v1/outcome") for _ in range(2))
        assert (first.status_code, again.status_code, again.content) == (204, 204, b"")
        assert AircraftType.objects.count() == 1


class TestOwnId:
    def test_the_same_again_answers_200_and_the_first_body(self, client: APIClient) -> None:
        body = {"id": str(uuid4()), "name": "one"}
        first, again = client.post(THINGS, body), client.post(THINGS, body)
        assert (first.status_code, again.status_code) == (201, 200)
        assert first.json()["id"] == body["id"]
        assert again.content == first.content
        assert again["Location"] == first["Location"]
        assert AircraftType.objects.count() == 1

    def test_the_form_of_the_uuid_makes_no_other_id(self, client: APIClient) -> None:
        own = uuid4()
        client.post(THINGS, {"id": str(own), "name": "one"})
        problem(client.post(THINGS, {"id": str(own).upper(), "name": "two"}), 409, "id_taken")

    def test_other_content_is_a_409(self, client: APIClient) -> None:
        own = str(uuid4())
        client.post(THINGS, {"id": own, "name": "one"})
        problem(client.post(THINGS, {"id": own, "name": "two"}), 409, "id_taken")
        assert AircraftType.objects.get().designation == "one"

    def test_another_member_of_the_club_gets_the_first_answer(self, client: APIClient, pilot: Membership) -> None:
        body = {"id": str(uuid4()), "name": "one"}
        first = client.post(THINGS, body)
        again = client_of(MemberFactory.create(club=pilot.club)).post(THINGS, body)
        assert (again.status_code, again.content) == (200, first.content)

    def test_an_id_of_another_club_reads_like_any_taken_id(self, client: APIClient) -> None:
        own = str(uuid4())
        client.post(THINGS, {"id": own, "name": "one"})
        taken = problem(client.post(THINGS, {"id": own, "name": "two"}), 409, "id_taken")
        stranger = client_of(MemberFactory.create())
        assert problem(stranger.post(THINGS, {"id": own, "name": "one"}), 409, "id_taken") == taken
        assert stranger.get(THINGS).json()["results"] == []

    def test_a_refused_id_is_free(self, client: APIClient) -> None:
        own = str(uuid4())
        problem(client.post(THINGS, {"id": own, "name": ""}), 422, "invalid")
        assert client.post(THINGS, {"id": own, "name": "one"}).status_code == 201

    def test_with_a_new_key_the_id_still_counts(self, client: APIClient) -> None:
        body = {"id": str(uuid4()), "name": "one"}
        first = post(client, "a", body)
        second = post(client, "b", body)
        assert (second.status_code, second.content) == (200, first.content)
        assert post(client, "b", body).content == first.content
        assert AircraftType.objects.count() == 1
