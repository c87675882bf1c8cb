"""Sentences for what a database constraint refused. A constraint's own ``violation_error_message`` wins."""

from functools import cache

from django.apps import apps
from django.db import IntegrityError
from django.db.models import BaseConstraint

from fleet.api.refusals import IdTaken

UNIQUE_VIOLATION = "23505"
FOREIGN_KEY_VIOLATION = "23503"
BY_STATE = {
    UNIQUE_VIOLATION: "This exists already ({rule}). Read what is there, then change that or send something else.",
    FOREIGN_KEY_VIOLATION: "Something that this refers to is not there, or is still referred to ({rule}). Check the ids.",
}
OTHERWISE = "This contradicts a rule of the register ({rule}). Read the present state and correct what you send."


def refusal_of(error: IntegrityError) -> tuple[str, str]:
    """Code of the problem type, and the detail. A primary key that is taken reads the same in every club."""
    diagnosis = getattr(error.__cause__, "diag", None)
    name = getattr(diagnosis, "constraint_name", None) or ""
    state = getattr(error.__cause__, "sqlstate", None) or ""
    if state == UNIQUE_VIOLATION and name.endswith("_pkey"):
        return "id_taken", str(IdTaken.default_detail)
    sentence = _own_sentences().get(name) or BY_STATE.get(state, OTHERWISE).format(rule=_readable(name))
    return "conflict", sentence


@cache
def _own_sentences() -> dict[str, str]:
    constraints = [constraint for model in apps.get_models() for constraint in model._meta.constraints]
    default = BaseConstraint.default_violation_error_message
    return {
        constraint.name: str(constraint.violation_error_message)
        for constraint in constraints
        if constraint.violation_error_message and constraint.violation_error_message != default
    }


def _readable(name: str) -> str:
    return name.replace("_", " ") or "no name"
