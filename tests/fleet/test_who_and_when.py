"""Who did something and when are stored together, on every model."""

from typing import Any

import pytest
from django.apps import apps
from django.db.models import CheckConstraint, Field, ForeignKey, Model, Q

from fleet.models import Membership
from tests.unchanged import OWN_APPS

MODELS = [model for label in OWN_APPS for model in apps.get_app_config(label).get_models()]
OTHER_INSTANT = {  # whose instant has another name
    "Event.by": "recorded_at",
    "Inspection.inspected_by": "completed_at",
    "Inspection.second_person": "completed_at",
    "InspectionResult.second_person": None,  # the inspection's
    "IndependentInspection.worked_by": "inspected_at",  # copies, so that a constraint can compare
    "IndependentInspection.supervised_by": "inspected_at",
    "Rectification.supervised_by": "performed_at",
}
NOBODY = {  # instants without a person, and why
    "found_at": "found by whoever reports it",
    "assessed_at": "the first triage, or the rules, say who",
    "touched_critical_at": "the triage or the report says who",
    "report_due_at": "a deadline",
    "first_identified_at": "copy of found_at",
    "occurred_at": "it happened",
    "started_at": "by whoever completed it",
    "recorded_at": "an inspection's, by whoever made it",
    "created_at": "the event says who",
    "joined_at": "the event says who",
    "revoked_at": "the event says who",
    "withdrawn_at": "the event says who",
    "raised_at": "a scheduled job",
    "emailed_at": "a scheduled job",
    "succeeded_at": "a scheduled job",
    "read_at": "by the recipient",
    "expires_at": "a deadline",
    "last_used_at": "by the holder of the token",
}
BY_A_JOB_WHEN_NULL = {"DeferralEnd.ended_by": "deferral_end_by", "Event.by": None}  # by the constraint that says so


def people() -> "list[tuple[type[Model], ForeignKey[Any, Any]]]":
    """Every reference to a member that says who did something."""
    found = []
    for model in MODELS:
        for field in model._meta.local_fields:
            doing = field.name == "by" or field.name.endswith("_by") or field.name == "second_person"
            if isinstance(field, ForeignKey) and field.related_model is Membership and doing:
                found.append((model, field))
    return found


def name_of(model: type[Model], field: "ForeignKey[Any, Any]") -> str:
    return f"{model.__name__}.{field.name}"


def instant_of(model: type[Model], field: "ForeignKey[Any, Any]") -> str | None:
    return OTHER_INSTANT.get(name_of(model, field), f"{field.name.removesuffix('_by')}_at")


def names_in(condition: Q) -> set[str]:
    """The fields that a condition looks at."""
    found: set[str] = set()
    for child in condition.children:
        found |= names_in(child) if isinstance(child, Q) else {str(child[0]).split("__")[0]}  # type: ignore[index]
    return found


PEOPLE = people()


@pytest.mark.parametrize(("model", "field"), PEOPLE, ids=[name_of(*pair) for pair in PEOPLE])
def test_who_has_a_when(model: type[Model], field: "ForeignKey[Any, Any]") -> None:
    instant = instant_of(model, field)
    if instant is None:
        return
    when = model._meta.get_field(instant)
    assert isinstance(when, Field)
    assert not when.null
    if not field.null or field.name == "second_person":
        return
    tie = BY_A_JOB_WHEN_NULL[name_of(model, field)]  # a new nullable one needs its constraint
    ties = [one for one in model._meta.constraints if isinstance(one, CheckConstraint) and one.name == tie]
    assert tie is None or [field.name in names_in(one.condition) for one in ties if isinstance(one.condition, Q)] == [
        True
    ]


def test_every_instant_has_a_who_or_a_reason() -> None:
    paired = {(model, instant_of(model, field)) for model, field in PEOPLE}
    alone = {
        field.name
        for model in MODELS
        for field in model._meta.local_fields
        if field.name.endswith("_at") and (model, field.name) not in paired
    }
    assert alone - set(NOBODY) == set()


def test_no_exception_is_out_of_date() -> None:
    instants = {field.name for model in MODELS for field in model._meta.local_fields}
    assert set(NOBODY) <= instants
    names = {name_of(*pair) for pair in PEOPLE}
    assert set(OTHER_INSTANT) <= names
    assert set(BY_A_JOB_WHEN_NULL) <= names
