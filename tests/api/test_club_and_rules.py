"""The club's settings and the table of rules over HTTP."""

from typing import Any

import pytest

from fleet.airworthiness.rules import RULES
from fleet.models import Club, Event, Role
from tests.api.cast import Cast, change, guarded, make_cast, only_for
from tests.api.clients import pointers, problem
from tests.factories import fresh, make_aircraft

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/club"


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def test_everybody_reads_their_own_club(cast: Cast) -> None:
    body = cast.auditor.get(ADDRESS).json()
    assert (body["id"], body["name"], body["time_zone"]) == (str(cast.club.id), cast.club.name, "Europe/Vienna")
    # domain.md: triage limit 3 days, decision limit 7 days by default
    assert (body["settings"]["triage_limit_days"], body["settings"]["decision_limit_days"]) == (3, 7)
    assert make_cast().auditor.get(ADDRESS).json()["id"] != body["id"]


def test_changes_need_the_current_version(cast: Cast) -> None:
    guarded(cast.administrator, ADDRESS, {"settings": {"triage_limit_days": 2}})
    assert Club.objects.get(id=cast.club.id).triage_limit_days == 2


def test_what_is_not_sent_stays(cast: Cast) -> None:
    before = cast.administrator.get(ADDRESS).json()["settings"]
    after = change(cast.administrator, ADDRESS, {"settings": {"repeat_count": 5}}).json()["settings"]
    assert after == before | {"repeat_count": 5}
    assert change(cast.administrator, ADDRESS, {}).json()["settings"] == after


def test_a_further_required_document_grounds_the_fleet_at_once(cast: Cast) -> None:
    aircraft = make_aircraft(cast.club)
    required = ["airworthiness_review_certificate", "insurance", "weighing_report"]
    assert change(cast.administrator, ADDRESS, {"settings": {"required_documents": required}}).status_code == 200
    assert fresh(aircraft).airworthiness.status == "grounded"
    assert Event.objects.filter(kind="club_settings_change", aircraft=aircraft).count() == 1
    assert change(cast.administrator, ADDRESS, {"settings": {"required_documents": []}}).status_code == 200
    assert fresh(aircraft).airworthiness.status == "serviceable"


def test_only_administrators_write(cast: Cast) -> None:
    only_for(cast, {Role.ADMINISTRATOR}, "patch", ADDRESS, {"settings": {"repeat_count": 5}})


@pytest.mark.parametrize(
    ("wrong", "pointer", "code"),
    [
        ({"settings": {"triage_limit_days": 0}}, "/settings/triage_limit_days", "min_value"),
        ({"settings": {"triage_limit_days": 31}}, "/settings/triage_limit_days", "max_value"),
        ({"settings": {"triage_limit_days": None}}, "/settings/triage_limit_days", "null"),
        ({"settings": {"repeat_count": 1}}, "/settings/repeat_count", "min_value"),
        ({"settings": {"required_documents": ["pass"]}}, "/settings/required_documents/0", "invalid_choice"),
        ({"settings": {"never_ground": True}}, "/settings/never_ground", "unknown_field"),
        ({"settings": 3}, "/settings", "invalid"),
        ({"time_zone": "UTC"}, "/time_zone", "unknown_field"),
    ],
)
def test_wrong_settings_are_named(cast: Cast, wrong: dict[str, Any], pointer: str, code: str) -> None:
    before = cast.administrator.get(ADDRESS).content
    assert pointers(problem(change(cast.administrator, ADDRESS, wrong), 422, "invalid")) == {pointer: code}
    assert cast.administrator.get(ADDRESS).content == before


def test_the_table_of_rules_is_whole(cast: Cast) -> None:
    body = cast.pilot.get("/api/v1/rules").json()
    assert [rule["code"] for rule in body["results"]] == [rule.code for rule in RULES]
    assert "rule_error" in {rule["code"] for rule in body["results"]}
    assert all(rule["title"] and rule["citation"] for rule in body["results"])
    assert body["settings"] == cast.pilot.get(ADDRESS).json()["settings"]


# effects as in domain.md, rule table
@pytest.mark.parametrize(
    ("code", "effects"),
    [
        ("critical_item_defect", ["grounds"]),
        ("untriaged_defect", ["grounds", "limits"]),
        ("deferral_running", ["limits"]),
        ("document_expired", ["grounds", "advises"]),
        ("repeat_defect", ["advises"]),
        ("rule_error", ["grounds"]),
    ],
)
def test_effects(cast: Cast, code: str, effects: list[str]) -> None:
    (rule,) = [one for one in cast.pilot.get("/api/v1/rules").json()["results"] if one["code"] == code]
    assert (rule["effects"], rule["effect"]) == (effects, effects[0])
