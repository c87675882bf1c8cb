"""Rules about work that is not signed off."""

from typing import Any

import pytest

from fleet.airworthiness.verdict import Effect
from tests.airworthiness.builders import CANOPY, MAIN_PIN, assessed, defect, effects, facts, findings, rectified

GROUNDS = [Effect.GROUNDS]


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (rectified(), GROUNDS),
        (rectified(work_unreleased=False), GROUNDS),
        (rectified(item=CANOPY), GROUNDS),
        (rectified(item=None), GROUNDS),
        (assessed(work_unreleased=True), GROUNDS),
        (defect(work_unreleased=True), GROUNDS),
        (assessed(), []),
        (defect(), []),
    ],
)
def test_work_grounds_until_it_is_released(one: Any, expected: Any) -> None:
    # ML.A.801: work is released to service; no flight before (also 14 CFR 91.407, from memory).
    assert effects(facts(defects=(one,)), "rectification_unreleased") == expected


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (rectified(), []),
        (rectified(independent_inspection=None), GROUNDS),
        (rectified(independent_inspection="rejected"), GROUNDS),
        (rectified(independent_inspection="later"), GROUNDS),
        (rectified(independent_inspection=None, item=None), GROUNDS),
        (rectified(independent_inspection=None, item=CANOPY), []),
        (rectified(independent_inspection=None, work_unreleased=False), GROUNDS),
        (assessed(item=MAIN_PIN, work_unreleased=True), GROUNDS),
        (assessed(item=MAIN_PIN), []),
        (defect(item=None), []),
    ],
)
def test_work_on_a_critical_item_grounds_until_a_second_person_accepts_it(one: Any, expected: Any) -> None:
    # Check value T28: critical control task, performer = inspector, refused (AMC 145.A.48(b)); here: nobody else yet.
    assert effects(facts(defects=(one,)), "independent_inspection_missing") == expected


def test_a_rejected_inspection_is_told_apart_from_a_missing_one() -> None:
    (missing,) = findings(facts(defects=(rectified(independent_inspection=None),)), "independent_inspection_missing")
    (rejected,) = findings(
        facts(defects=(rectified(independent_inspection="rejected"),)), "independent_inspection_missing"
    )
    assert missing.message.endswith("a second competent person has not checked it yet.")
    assert rejected.message.endswith("a second competent person did not accept it.")
