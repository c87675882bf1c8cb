"""References between tables point the way imports do; import-linter does not see those that are named by a string."""

import pytest
from django.apps import apps
from django.db.models import Model

RANK = {"fleet": 0, "defects": 1, "inspections": 2}
OURS = [model for model in apps.get_models(include_auto_created=True) if model._meta.app_label in RANK]


@pytest.mark.parametrize("model", OURS, ids=lambda model: model._meta.label)
def test_references_point_downwards(model: type[Model]) -> None:
    related = [field.related_model for field in model._meta.get_fields() if field.is_relation and field.concrete]
    targets = {target._meta.app_label for target in related if target is not None}
    assert {target for target in targets & set(RANK) if RANK[target] > RANK[model._meta.app_label]} == set()


def test_config_has_no_models() -> None:
    assert list(apps.get_app_config("config").get_models()) == []
