"""Triage: what only an inspector decides, what work forbids, risk, reportability, and what counts from the first assessment."""

from datetime import timedelta
from typing import Any

import pytest

from defects.lifecycle import TRIAGE, State
from defects.models import Defect, Triage
from fleet.errors import Conflict, DomainError, Forbidden, Invalid
from fleet.models import Aircraft, Role
from tests.defects.attempts import LATER, attempt
from tests.factories import (
    CRITICAL,
    NOW,
    PLAIN,
    AircraftTypeFactory,
    InspectorFactory,
    ItemFactory,
    MemberFactory,
    assessed,
    rejected,
    reported,
)
from tests.unchanged import taken_back, unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db

ON_CRITICAL: dict[str, Any] = {"critical": True}
UNCLASSIFIED: dict[str, Any] = {"item_code": None}
ON_PLAIN: dict[str, Any] = {}


def triage(defect: Defect, role: Role, **changes: Any) -> Any:
    """Triage by a new member who holds this role only."""
    made = InspectorFactory if role == Role.INSPECTOR else MemberFactory
    return attempt(TRIAGE, defect, by=made.create(club=defect.aircraft.club, roles=[role]), **changes)


INSPECTOR_ONLY = [
    pytest.param(reported, ON_CRITICAL, {"assessment": "no_defect"}, id="no defect on a critical item"),
    pytest.param(reported, UNCLASSIFIED, {"assessment": "no_defect"}, id="no defect on no item"),
    pytest.param(reported, ON_CRITICAL, {"item_code": PLAIN}, id="off a critical item"),
    pytest.param(reported, ON_CRITICAL, {"item_code": PLAIN, "assessment": "hazard"}, id="off it, as a hazard"),
    pytest.param(assessed, ON_CRITICAL, {"item_code": PLAIN, "assessment": "no_defect"}, id="off it and away"),
    pytest.param(assessed, {"assessment": "hazard"}, {"assessment": "no_hazard"}, id="a hazard lowered"),
    pytest.param(assessed, {"assessment": "hazard"}, {"assessment": "no_defect"}, id="a hazard denied"),
]


@pytest.mark.parametrize(("led", "found", "decision"), INSPECTOR_ONLY)
def test_what_only_an_inspector_decides(
    aircraft: Aircraft, led: Any, found: dict[str, Any], decision: dict[str, Any]
) -> None:
    defect = led(aircraft, **found)
    with unchanged(), taken_back(), pytest.raises(Forbidden) as refusal:
        triage(defect, Role.TECHNICAL_OFFICER, **decision)
    assert refusal.value.code == "inspector_only"
    triage(defect, Role.INSPECTOR, **decision)
    stored = Defect.objects.select_related("item").get(id=defect.id)
    assert stored.assessment == decision.get("assessment", "no_hazard")
    if "item_code" in decision:
        assert stored.item is not None
        assert stored.item.code == PLAIN


@pytest.mark.parametrize(
    ("led", "found", "decision", "state"),
    [
        (reported, ON_PLAIN, {"assessment": "no_defect"}, State.NO_DEFECT),
        (reported, UNCLASSIFIED, {"item_code": PLAIN}, State.ASSESSED),
        (reported, UNCLASSIFIED, {"item_code": CRITICAL}, State.ASSESSED),
        (reported, ON_PLAIN, {"item_code": CRITICAL}, State.ASSESSED),
        (reported, ON_CRITICAL, {"assessment": "hazard"}, State.ASSESSED),
        (reported, ON_CRITICAL, {"assessment": "no_hazard"}, State.ASSESSED),
        (assessed, ON_PLAIN, {"assessment": "hazard"}, State.ASSESSED),
        (assessed, ON_PLAIN, {"assessment": "no_defect"}, State.NO_DEFECT),
        (assessed, {"assessment": "hazard"}, {"assessment": "hazard"}, State.ASSESSED),
    ],
)
def test_what_a_technical_officer_decides(
    aircraft: Aircraft, led: Any, found: dict[str, Any], decision: dict[str, Any], state: State
) -> None:
    acted = triage(led(aircraft, **found), Role.TECHNICAL_OFFICER, **decision)
    assert acted.defect.state == state


@pytest.mark.parametrize(
    ("decision", "refused"),
    [
        ({"assessment": "no_defect"}, True),
        ({"item_code": PLAIN}, True),
        ({"assessment": "hazard"}, False),
        ({"assessment": "no_hazard"}, False),
    ],
)
def test_unreleased_work_keeps_a_defect_where_it_is_even_from_an_inspector(
    aircraft: Aircraft, decision: dict[str, Any], refused: bool
) -> None:
    defect = rejected(aircraft, critical=True)
    assert defect.state == State.ASSESSED
    if not refused:
        assert effects_of(triage(defect, Role.INSPECTOR, **decision))["rectification_unreleased"] == "grounds"
        return
    with unchanged(), taken_back(), pytest.raises(Conflict) as refusal:
        triage(defect, Role.INSPECTOR, **decision)
    assert refusal.value.code == "work_unreleased"


def test_a_critical_defect_grounds_whatever_triage_says_until_it_is_moved_or_denied(aircraft: Aircraft) -> None:
    defect = reported(aircraft, critical=True)
    for assessment in ("no_hazard", "hazard", "no_hazard"):
        effects = effects_of(triage(defect, Role.INSPECTOR, assessment=assessment))
        assert effects["critical_item_defect"] == "grounds"
    moved = effects_of(triage(defect, Role.INSPECTOR, item_code=PLAIN))
    assert moved == {"assessed_defect": "limits"}
    assert effects_of(triage(defect, Role.INSPECTOR, assessment="no_defect")) == {}


def test_an_unclassified_defect_grounds_until_it_has_an_item(aircraft: Aircraft) -> None:
    defect = reported(aircraft, **UNCLASSIFIED)
    still = effects_of(triage(defect, Role.TECHNICAL_OFFICER))
    assert still["unclassified_defect"] == "grounds"
    assert effects_of(triage(defect, Role.TECHNICAL_OFFICER, item_code=PLAIN)) == {"assessed_defect": "limits"}


@pytest.mark.parametrize(
    ("sent", "pointer", "code"),
    [
        ({"item_code": "no-such-item"}, "/item", "unknown_item"),
        ({"item_code": "of-another-type"}, "/item", "unknown_item"),
        ({"severity": "C"}, "/likelihood", "risk_pair"),
        ({"likelihood": 3}, "/likelihood", "risk_pair"),
        ({"severity": "B", "likelihood": 4}, "/assessment", "intolerable"),
        ({"severity": "A", "likelihood": 3, "assessment": "no_defect"}, "/assessment", "intolerable"),
    ],
)
def test_a_triage_that_cannot_be_right(aircraft: Aircraft, sent: dict[str, Any], pointer: str, code: str) -> None:
    ItemFactory.create(aircraft_type=AircraftTypeFactory.create(club=aircraft.club), code="of-another-type")
    defect = reported(aircraft)
    with unchanged(), taken_back(), pytest.raises(Invalid) as refusal:
        triage(defect, Role.INSPECTOR, **sent)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


def test_the_risk_stays_on_record_until_it_is_given_anew(aircraft: Aircraft) -> None:
    defect = reported(aircraft)
    triage(defect, Role.INSPECTOR, severity="B", likelihood=4, assessment="hazard")
    triage(defect, Role.INSPECTOR)
    stored = Defect.objects.get(id=defect.id)
    assert (stored.severity, stored.likelihood) == ("B", 4)
    triage(defect, Role.INSPECTOR, severity="E", likelihood=1)
    stored.refresh_from_db()
    assert (stored.severity, stored.likelihood) == ("E", 1)


@pytest.mark.parametrize(
    ("at_report", "decision", "hours"),
    [
        (False, None, None),
        (False, False, None),
        (False, True, 73),
        (True, None, 72),
        (True, True, 72),
        (True, False, None),
    ],
)
def test_triage_opens_and_closes_the_deadline_of_the_occurrence_report(
    aircraft: Aircraft, at_report: bool, decision: bool | None, hours: int | None
) -> None:
    defect = reported(aircraft, occurrence=at_report)
    triage(defect, Role.INSPECTOR, reportable=decision)  # an hour after the report
    due = Defect.objects.get(id=defect.id).report_due_at
    assert due == (NOW + timedelta(hours=hours) if hours else None)


def test_the_decision_limit_counts_from_the_first_assessment(aircraft: Aircraft) -> None:
    defect = reported(aircraft)
    acted = triage(defect, Role.INSPECTOR)
    assert acted.defect.assessed_at == LATER
    almost = triage(defect, Role.INSPECTOR, at=LATER + timedelta(days=7) - timedelta(seconds=1))
    assert effects_of(almost) == {"assessed_defect": "limits"}
    over = triage(defect, Role.INSPECTOR, at=LATER + timedelta(days=7))
    assert effects_of(over) == {"assessed_defect": "grounds"}
    assert over.defect.assessed_at == LATER


def test_every_triage_is_kept(aircraft: Aircraft) -> None:
    defect = reported(aircraft)
    for assessment in ("hazard", "no_hazard", "no_defect"):
        triage(defect, Role.INSPECTOR, assessment=assessment, justification=f"Because {assessment}.")
    kept = Triage.objects.filter(defect=defect).order_by("triaged_at", "assessment")
    assert sorted(kept.values_list("assessment", "justification")) == [
        ("hazard", "Because hazard."),
        ("no_defect", "Because no_defect."),
        ("no_hazard", "Because no_hazard."),
    ]


@pytest.mark.parametrize("found", [ON_CRITICAL, UNCLASSIFIED, ON_PLAIN])
def test_a_pilot_never_triages(aircraft: Aircraft, found: dict[str, Any]) -> None:
    defect = reported(aircraft, **found)
    with unchanged(), taken_back(), pytest.raises(DomainError) as refusal:
        triage(defect, Role.PILOT, assessment="hazard")
    assert isinstance(refusal.value, Forbidden)
