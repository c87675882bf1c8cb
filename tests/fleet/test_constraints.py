"""Every constraint of our models, broken once or more: the database itself refuses. A new one without a case fails."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.contrib.postgres.constraints import ExclusionConstraint
from django.db import IntegrityError, transaction
from django.db.models import BaseConstraint, Model, UniqueConstraint

from fleet.models import Aircraft, AssessmentPeriod, Installation
from tests.factories import NOW
from tests.fleet import rows, rows_programme
from tests.fleet.rows import Broken, Row
from tests.fleet.rows_programme import PAIRS, PLACES, ROWS
from tests.unchanged import OWN_APPS

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
MODELS = [model for label in OWN_APPS for model in apps.get_app_config(label).get_models()]
CONSTRAINTS: dict[str, tuple[type[Model], BaseConstraint]] = {
    constraint.name: (model, constraint) for model in MODELS for constraint in model._meta.constraints
}
MEASURED: Row = {"quantity": "pressure", "unit": "bar"}
ASSESSED: Row = {"state": "assessed", "assessment": "no_hazard", "assessed_at": NOW}
REFUSED_LINES: dict[str, list[Broken]] = {
    "critical_not_deferrable": [{"critical": True, "deferrable": True}],
    "unit_with_quantity": [
        {"quantity": "pressure"},
        {"unit": "bar"},
        {"minimum": Decimal(1)},
        {"maximum": Decimal(1)},
    ],
    "limits_ordered": [MEASURED | {"minimum": Decimal(2), "maximum": Decimal(1)}],
    "ballast_measured": [{"ballast": True}],
    "has_code": [{"code": code} for code in ("", "Pin", "-pin", "a pin", "pin\n")],
    "zone": [{"zone": "roof"}, {"zone": ""}],
    "side": [{"side": "up"}],
    "system_code": [{"system_code": code} for code in ("27", "abcd", "272x")],
}


def past(name: str, most: int, least: int | None) -> list[Broken]:
    values = [most + 1] if least is None else [most + 1, least - 1]
    return [{name: value} for value in values]


REFUSED: dict[str, list[Broken]] = {
    **{f"{kind}_{name}": broken for kind in ("item", "sheetline") for name, broken in REFUSED_LINES.items()},
    "club_triage_limit": past("triage_limit_days", 30, 1),
    "club_decision_limit": past("decision_limit_days", 60, 1),
    "club_repeat_count": past("repeat_count", 20, 2),
    "club_repeat_days": past("repeat_within_days", 366, 1),
    "club_repeat_flights": past("repeat_within_flights", 1000, 1),
    "club_document_notice": past("document_notice_days", 180, None),
    "person_has_full_name": [{"full_name": ""}, {"full_name": " \t"}],
    "membership_roles_known": [{"roles": []}, {"roles": ["captain"]}, {"roles": ["pilot", "captain"]}],
    "authorisation_dates_ordered": [{"valid_until": date(2024, 12, 31)}],
    "authorisation_has_licence": [{"licence_number": ""}, {"licence_number": " "}],
    "authorisation_privileges_known": [{"privileges": []}, {"privileges": ["release", "fly"]}],
    "authorisation_categories_known": [{"categories": []}, {"categories": ["balloon"]}],
    "token_expires_after_creation": [{"expires_at": NOW}, {"expires_at": NOW - HOUR}],
    "token_named": [{"name": ""}],
    "only_success_is_kept": [{"status": 199}, {"status": 300}, {"status": 500}],
    "aircraft_type_seats": past("seats", 20, 1),
    "aircraft_type_category": [{"category": "balloon"}, {"category": ""}],
    "aircraft_registration_form": [{"registration": mark} for mark in ("", "zz-k1", "ZZ K1", "ZZ-K-1", "ZZ-", "-K1")],
    "state_status_known": [{"status": "fine"}, {"status": ""}],
    "period_ordered": [{"shown_to": NOW}],
    "period_status_known": [{"status": "fine"}],
    "event_sequence_from_one": [{"sequence": 0}],
    "attachment_content_type": [{"content_type": "text/html"}, {"content_type": "image/svg+xml"}],
    "document_kind_known": [{"kind": "poem"}],
    "document_dates_ordered": [{"expires_on": date(2024, 12, 31)}],
    "defect_state_known": [ASSESSED | {"state": "closed"}],
    "defect_described": [{"description": ""}, {"description": " \n"}],
    "defect_damage_kind": [{"damage_kind": "rust"}],
    "defect_found_during": [{"found_during": ""}, {"found_during": "lunch"}],
    "defect_size": [{"size_mm": Decimal(-1)}],
    "defect_assessment_pair": [
        {"assessed_at": NOW},
        ASSESSED | {"assessed_at": None},
        ASSESSED | {"assessment": "perhaps"},
    ],
    "defect_state_has_assessment": [{"state": "assessed"}, ASSESSED | {"state": "reported"}],
    "defect_no_defect_pair": [ASSESSED | {"state": "no_defect"}, ASSESSED | {"assessment": "no_defect"}],
    "defect_deferred_is_no_hazard": [
        ASSESSED | {"state": "deferred"},
        lambda row: ASSESSED | {"state": "deferred", "deferral": rows.deferral(), "item": None},
        lambda row: ASSESSED | {"state": "deferred", "deferral": rows.deferral(), "assessment": "hazard"},
    ],
    "defect_worked_has_rectification": [ASSESSED | {"state": "rectified"}, ASSESSED | {"state": "released"}],
    "defect_released_is_classified": [
        lambda row: ASSESSED | {"state": "released", "rectification": rows.work(), "item": None}
    ],
    "defect_risk_cell": [
        {"severity": "A"},
        {"likelihood": 3},
        {"severity": "F", "likelihood": 3},
        {"severity": "A", "likelihood": 0},
        {"severity": "A", "likelihood": 6},
    ],
    "triage_assessment": [{"assessment": ""}, {"assessment": "perhaps"}],
    "triage_justified": [{"justification": " "}],
    "triage_risk_cell": [{"severity": "A"}, {"likelihood": 3}, {"severity": "A", "likelihood": 6}],
    "deferral_has_limit": [{"until_date": None}],
    "deferral_has_limitations": [{"limitations": []}],
    "deferral_justified": [{"basis": " "}, {"justification": ""}],
    "deferral_end_by": [
        {"ended_by": None},
        {"kind": "rectified", "ended_by": None},
        {"kind": "expired", "past_limit": True},  # a job ends it, and nobody else
        {"kind": "expired", "past_limit": False, "ended_by": None},
        {"kind": "forgotten"},
    ],
    "rectification_described": [{"work_done": ""}, {"data_used": " "}],
    "independent_outcome": [{"outcome": "perhaps"}],
    "independent_remarked": [{"remark": " "}],
    "independent_of_the_work": [
        lambda row: {"inspected_by": row["worked_by"]},
        lambda row: {"supervised_by": row["inspected_by"]},
    ],
    "release_signed": [{"printed_name": " "}, {"licence_number": ""}],
    "sheet_kind_known": [{"kind": "weekly"}],
    "sheet_version_from_one": [{"version": 0}],
    "occurrence_kind_known": [{"kind": "bad luck"}],
    "occurrence_described": [{"description": " "}],
    "rigging_kind_known": [{"kind": "folded"}],
    "inspection_kind_known": [{"kind": "weekly"}],
    "inspection_ordered": [{"started_at": NOW + HOUR}],
    "inspection_complete_misses_nothing": [
        {"missing": ["main-pin-left"]},
        {"complete": False},
        {"complete": False, "missing": []},
    ],
    "inspection_second_is_another": [lambda row: {"second_person": row["inspected_by"]}],
    "inspection_after_rigging_needs_two": [{"kind": "after_rigging"}],
    "inspection_occurrence_unscheduled": [lambda row: {"occurrence": rows.occurrence()}],
    "result_outcome_known": [{"outcome": "fine"}],
    "result_defect_pair": [{"outcome": "defect"}, lambda row: {"defect": rows.defect()}],
    **rows_programme.REFUSED,
}


@pytest.fixture(autouse=True)
def _something_is_there(aircraft: Aircraft) -> None:
    """An aircraft with its club and people."""


def refused_by(model: type[Model], row: Row) -> str | None:
    """The name of the constraint that refuses the row."""
    try:
        with transaction.atomic():
            model(**row).save(force_insert=True)
    except IntegrityError as error:
        name: Any = getattr(error.__cause__, "diag", None)
        return str(name.constraint_name)
    return None


@pytest.mark.parametrize("model", ROWS, ids=lambda model: model._meta.label)
def test_the_row_that_is_broken_elsewhere_is_accepted(model: type[Model]) -> None:
    assert refused_by(model, ROWS[model]()) is None


def checks() -> list[str]:
    return sorted(name for name, (_, each) in CONSTRAINTS.items() if not _by_its_fields(each))


def _by_its_fields(constraint: BaseConstraint) -> bool:
    return isinstance(constraint, UniqueConstraint | ExclusionConstraint)


def test_every_check_has_a_case_and_every_case_a_check() -> None:
    assert set(REFUSED) == set(checks())


@pytest.mark.parametrize("name", checks())
def test_a_broken_row_is_refused(name: str) -> None:
    model, _constraint = CONSTRAINTS[name]
    for broken in REFUSED[name]:
        row = ROWS[model]()
        changes = broken(row) if callable(broken) else broken
        assert refused_by(model, row | changes) == name, changes


@pytest.mark.parametrize("name", sorted(name for name, (_, each) in CONSTRAINTS.items() if _by_its_fields(each)))
def test_what_is_unique_is_not_there_twice(name: str) -> None:
    model, constraint = CONSTRAINTS[name]
    if isinstance(constraint, ExclusionConstraint):
        assert name in {"periods_never_overlap", *PLACES}  # see below
        return
    assert isinstance(constraint, UniqueConstraint)
    of_first, of_twin = PAIRS[name]() if name in PAIRS else ({}, {})
    first = ROWS[model]() | of_first
    assert refused_by(model, first) is None
    twin = ROWS[model]() | of_twin | {field: first.get(field) for field in constraint.fields}
    assert refused_by(model, twin) == name


OVERLAPS = [  # from, to, and whether it overlaps with from now to four hours later
    (NOW, NOW + HOUR, True),
    (NOW - HOUR, NOW + timedelta(microseconds=1), True),
    (NOW + 3 * HOUR, NOW + 5 * HOUR, True),
    (NOW + HOUR, NOW + 2 * HOUR, True),
    (NOW - HOUR, NOW, False),  # the end is not included
    (NOW + 4 * HOUR, None, False),
    (NOW + 3 * HOUR, None, True),
]


@pytest.mark.parametrize(("shown_from", "shown_to", "refused"), OVERLAPS)
def test_periods_of_an_aircraft_never_overlap(shown_from: Any, shown_to: Any, refused: bool) -> None:
    first = ROWS[AssessmentPeriod]() | {"shown_to": NOW + 4 * HOUR}
    assert refused_by(AssessmentPeriod, first) is None
    second = first | {"shown_from": shown_from, "shown_to": shown_to}
    assert refused_by(AssessmentPeriod, second) == ("periods_never_overlap" if refused else None)
    elsewhere = second | {"aircraft": rows.bare_aircraft()}
    assert refused_by(AssessmentPeriod, elsewhere) is None


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize(("installed_at", "removed_at", "refused"), OVERLAPS)
def test_installations_never_overlap(name: str, installed_at: Any, removed_at: Any, refused: bool) -> None:
    where, shared = PLACES[name]
    first = ROWS[Installation]() | where() | rows_programme.removal() | {"removed_at": NOW + 4 * HOUR}
    assert refused_by(Installation, first) is None
    end = rows_programme.removal() | {"removed_at": removed_at} if removed_at else {}
    period = end | {"installed_at": installed_at}
    second = ROWS[Installation]() | where() | period | {field: first[field] for field in shared}
    assert refused_by(Installation, second) == (name if refused else None)
    elsewhere = ROWS[Installation]() | where() | period
    assert refused_by(Installation, elsewhere) is None
