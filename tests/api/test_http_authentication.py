"""Who is let in: tokens, sessions, and what comes first."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from fleet.api.authentication import SESSION_CLUB
from fleet.models import ApiToken, Membership, Person, Role
from fleet.services import access
from tests.api.clients import anonymous, client_of, client_with, pointers, problem
from tests.factories import PASSWORD, ClubFactory, MemberFactory
from tests.factories.constants import FOUNDED

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.api.throwaway")]
THINGS = "/api/v1/things"


@pytest.fixture
def pilot() -> Membership:
    return MemberFactory.create()


def token_of(member: Membership, **changes: Any) -> str:
    token, secret = access.issue_token(by=member, name="test", at=timezone.now())
    ApiToken.objects.filter(pk=token.pk).update(**changes)
    return secret


def test_only_the_digest_is_stored(pilot: Membership) -> None:
    token, secret = access.issue_token(by=pilot, name="test", at=timezone.now())
    stored = ApiToken.objects.values().get(pk=token.pk)
    assert secret not in str(stored)
    assert len(secret) >= 43  # 256 bits in base64url


def test_a_token_lives_ninety_days_by_default(pilot: Membership) -> None:
    at = timezone.now()
    token, _ = access.issue_token(by=pilot, name="test", at=at)
    assert token.expires_at == at + timedelta(days=90)


@pytest.mark.parametrize(
    "header",
    [
        "",
        "Bearer",
        "Bearer ",
        "Bearer nonsense",
        "Bearer two words",
        "Bearer \xff",
        "Basic cGlsb3Q6cGlsb3Q=",
        "bearer\tx",
        "x" * 5000,
    ],
)
def test_without_a_good_token_401_says_how_to_get_one(header: str) -> None:
    response = anonymous().get(THINGS, HTTP_AUTHORIZATION=header)
    body = problem(response, 401, "not_authenticated")
    assert response["WWW-Authenticate"].startswith("Bearer")
    assert "/api/v1/tokens" in body["detail"]


@pytest.mark.parametrize(
    "changes",
    [{"expires_at": FOUNDED + timedelta(days=1), "created_at": FOUNDED}, {"revoked_at": FOUNDED}],
    ids=["expired", "revoked"],
)
def test_an_ended_token_is_refused(pilot: Membership, changes: dict[str, Any]) -> None:
    problem(client_with(token_of(pilot, **changes)).get(THINGS), 401, "not_authenticated")


def test_the_scheme_is_read_in_any_case(pilot: Membership) -> None:
    assert anonymous().get(THINGS, HTTP_AUTHORIZATION=f"bEARER {token_of(pilot)}").status_code == 200


def test_a_disabled_member_is_out_at_the_next_request(pilot: Membership) -> None:
    client = client_of(pilot)
    assert client.get(THINGS).status_code == 200
    Membership.objects.filter(pk=pilot.pk).update(active=False)
    problem(client.get(THINGS), 401, "not_authenticated")


def test_a_disabled_person_is_out_at_the_next_request(pilot: Membership) -> None:
    client = client_of(pilot)
    pilot.person.is_active = False
    pilot.person.save()
    problem(client.get(THINGS), 401, "not_authenticated")


def test_a_token_costs_one_query(pilot: Membership, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client = client_of(pilot)
    client.get(THINGS)
    with django_assert_num_queries(2):  # token with member, person, club; and the page
        client.get(THINGS)


def test_use_is_noted_once_an_hour(pilot: Membership) -> None:
    noted = timezone.now() - timedelta(minutes=59)
    client = client_with(token_of(pilot, last_used_at=noted))
    client.get(THINGS)
    assert ApiToken.objects.get().last_used_at == noted
    ApiToken.objects.update(last_used_at=noted - timedelta(minutes=2))
    client.get(THINGS)
    used = ApiToken.objects.get().last_used_at
    assert used is not None
    assert used > noted


def page_of(member: Membership) -> Client:
    client = Client(enforce_csrf_checks=True)
    client.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_session_reads(pilot: Membership) -> None:
    assert page_of(pilot).get(THINGS).status_code == 200


def test_a_session_writes_only_with_its_csrf_token(pilot: Membership) -> None:
    client = page_of(pilot)
    body = {"name": "one"}
    problem(client.post(THINGS, body, content_type="application/json"), 403, "csrf_failed")
    client.cookies["csrftoken"] = "a" * 32
    response = client.post(THINGS, body, content_type="application/json", HTTP_X_CSRFTOKEN="a" * 32)
    assert response.status_code == 201


def test_a_wrong_token_is_not_helped_by_a_session(pilot: Membership) -> None:
    problem(page_of(pilot).get(THINGS, HTTP_AUTHORIZATION="Bearer wrong"), 401, "not_authenticated")


def test_a_session_of_several_clubs_acts_for_the_chosen_one(pilot: Membership) -> None:
    other = ClubFactory.create()
    Membership.objects.create(club=other, person=pilot.person, roles=[Role.AUDITOR], joined_at=timezone.now())
    client = page_of(pilot)
    problem(client.get(THINGS), 403, "forbidden")
    session = client.session
    session[SESSION_CLUB] = str(other.pk)
    session.save()
    assert client.get("/api/v1/auditors").status_code == 200
    session[SESSION_CLUB] = str(pilot.club_id)
    session.save()
    problem(client.get("/api/v1/auditors"), 403, "forbidden")


def test_a_session_without_membership_is_refused(pilot: Membership) -> None:
    client = page_of(pilot)
    Membership.objects.update(active=False)
    problem(client.get(THINGS), 403, "forbidden")


class TestTokens:
    """POST, GET, DELETE /tokens."""

    def ask(self, member: Membership, **changes: Any) -> Any:
        body = {"username": member.person.username, "password": PASSWORD, "name": "phone", **changes}
        return anonymous().post("/api/v1/tokens", body)

    def test_name_and_password_give_a_token(self, pilot: Membership) -> None:
        response = self.ask(pilot)
        assert response.status_code == 201
        assert set(response.json()) == {"id", "name", "token", "created_at", "expires_at", "revoked_at", "last_used_at"}
        assert response["Location"] == f"/api/v1/tokens/{response.json()['id']}"
        assert response["Cache-Control"] == "no-store"
        assert client_with(response.json()["token"]).get(THINGS).status_code == 200

    @pytest.mark.parametrize(
        "changes", [{"password": "wrong"}, {"username": "nobody"}, {"username": "nobody", "password": "wrong"}]
    )
    def test_unknown_name_and_wrong_password_read_the_same(self, pilot: Membership, changes: dict[str, str]) -> None:
        wrong = self.ask(pilot, password="wrong")
        response = self.ask(pilot, **changes)
        problem(response, 401, "not_authenticated")
        assert response.content == wrong.content
        assert response["WWW-Authenticate"].startswith("Bearer")

    def test_a_closed_account_reads_the_same(self, pilot: Membership) -> None:
        wrong = self.ask(pilot, username="nobody")
        pilot.person.is_active = False
        pilot.person.save()
        assert self.ask(pilot).content == wrong.content

    def test_an_unknown_name_costs_a_password_hash_too(
        self, pilot: Membership, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        hashed: list[str] = []
        monkeypatch.setattr(Person, "set_password", lambda self, raw: hashed.append(raw))
        self.ask(pilot, username="nobody")
        assert hashed == [PASSWORD]

    def test_repeated_failures_lock_out_with_retry_after(self, pilot: Membership) -> None:
        for _ in range(5):
            response = self.ask(pilot, password="wrong")
        problem(response, 429, "too_many_requests")
        right = self.ask(pilot)
        problem(right, 429, "too_many_requests")
        assert right["Retry-After"] == "900"

    def test_the_lockout_of_an_unknown_name_reads_the_same(self, pilot: Membership) -> None:
        known = [self.ask(pilot, password="wrong") for _ in range(6)]
        unknown = [self.ask(pilot, username="nobody") for _ in range(6)]
        assert [one.content for one in known] == [one.content for one in unknown]

    def test_a_success_forgets_the_failures(self, pilot: Membership) -> None:
        for _ in range(3):
            assert [self.ask(pilot, password="wrong").status_code for _ in range(4)] == [401] * 4
            assert self.ask(pilot).status_code == 201

    def test_several_clubs_want_the_club_named(self, pilot: Membership) -> None:
        other = ClubFactory.create()
        Membership.objects.create(club=other, person=pilot.person, roles=[Role.AUDITOR], joined_at=timezone.now())
        body = problem(self.ask(pilot), 422, "invalid")
        assert pointers(body) == {"/club": "club_required"}
        assert str(other.pk) in body["detail"]
        problem(self.ask(pilot, club=str(ClubFactory.create().pk)), 422, "invalid")
        secret = self.ask(pilot, club=str(other.pk)).json()["token"]
        assert client_with(secret).get("/api/v1/auditors").status_code == 200

    def test_without_any_club_there_is_no_token(self, pilot: Membership) -> None:
        Membership.objects.update(active=False)
        problem(self.ask(pilot), 403, "forbidden")

    @pytest.mark.parametrize("name", ["username", "password", "name"])
    def test_every_field_is_needed(self, pilot: Membership, name: str) -> None:
        assert pointers(problem(self.ask(pilot, **{name: ""}), 422, "invalid")) == {f"/{name}": "blank"}

    def test_a_member_lists_only_their_own(self, pilot: Membership) -> None:
        client = client_of(pilot)
        client_of(MemberFactory.create(club=pilot.club))
        results = client.get("/api/v1/tokens").json()["results"]
        assert [one["id"] for one in results] == [str(token.pk) for token in pilot.api_tokens.all()]
        assert not any("digest" in one or "token" in one for one in results)

    def test_revoking_ends_it_at_once(self, pilot: Membership) -> None:
        client = client_of(pilot)
        token = ApiToken.objects.get()
        assert client.delete(f"/api/v1/tokens/{token.pk}").status_code == 204
        problem(client.get(THINGS), 401, "not_authenticated")

    def test_revoking_twice_keeps_the_first_instant(self, pilot: Membership) -> None:
        client, token = client_of(pilot), access.issue_token(by=pilot, name="old", at=timezone.now())[0]
        client.delete(f"/api/v1/tokens/{token.pk}")
        first = ApiToken.objects.get(pk=token.pk).revoked_at
        assert client.delete(f"/api/v1/tokens/{token.pk}").status_code == 204
        assert ApiToken.objects.get(pk=token.pk).revoked_at == first

    def test_an_auditor_revokes_their_own(self) -> None:
        auditor = MemberFactory.create(roles=[Role.AUDITOR])
        client = client_of(auditor)
        assert client.delete(f"/api/v1/tokens/{ApiToken.objects.get().pk}").status_code == 204

    def test_somebody_elses_does_not_exist(self, pilot: Membership) -> None:
        other = MemberFactory.create(club=pilot.club)
        token, secret = access.issue_token(by=other, name="theirs", at=timezone.now())
        for method in ("get", "delete"):
            problem(getattr(client_of(pilot), method)(f"/api/v1/tokens/{token.pk}"), 404, "not_found")
        assert client_with(secret).get(THINGS).status_code == 200
