"""Measured lines: limits, units, and that words or numbers about a defect count whatever outcome was sent."""

from decimal import Decimal
from typing import Any

import pytest

from fleet.errors import Invalid
from fleet.models import Aircraft, Item, Membership
from inspections.models import InspectionResult
from tests.factories import BALLAST, CRITICAL, MEASURED, NOW, PLAIN, TWO_PERSON, publish_sheet
from tests.inspections.walks import walk
from tests.unchanged import unchanged
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db


def pressure(value: str, unit: str = "bar", **more: Any) -> dict[str, dict[str, Any]]:
    return {MEASURED: {"value": Decimal(value), "unit": unit, **more}}


# 1 bar = 100 kPa; 1 psi = 6894.757 Pa (NIST SP 811, appendix B)
@pytest.mark.parametrize(
    ("value", "unit", "in_bar", "inside"),
    [
        ("3.0", "bar", "3", True),  # limits 3.0 to 3.6 bar belong to the item
        ("3.6", "bar", "3.6", True),
        ("2.9999", "bar", "2.9999", False),
        ("3.6001", "bar", "3.6001", False),
        ("0", "bar", "0", False),
        ("-3.2", "bar", "-3.2", False),
        ("300", "kPa", "3", True),
        ("3200", "hPa", "3.2", True),
        ("299.9", "kPa", "2.999", False),
        ("46", "[psi]", "3.1716", True),
        ("43.5", "[psi]", "2.9992", False),
        ("52.3", "[psi]", "3.6060", False),
    ],
)
def test_a_value_is_compared_in_the_unit_of_the_line(
    aircraft: Aircraft, pilot: Membership, second: Membership, value: str, unit: str, in_bar: str, inside: bool
) -> None:
    done = walk(aircraft, by=pilot, second=second, changes=pressure(value, unit))
    result = InspectionResult.objects.get(line__code=MEASURED)
    assert (result.value, result.sent_value, result.sent_unit) == (Decimal(in_bar), Decimal(value), unit)
    assert (result.outcome, len(done.defects)) == (("satisfactory", 0) if inside else ("defect", 1))
    assert effects_of(done) == ({} if inside else {"untriaged_defect": "limits"})
    assert done.inspection.complete


@pytest.mark.parametrize("outcome", ["satisfactory", "defect", "not_applicable", "not_checked"])
def test_outside_its_limits_a_value_is_a_defect_whatever_was_sent(
    aircraft: Aircraft, pilot: Membership, second: Membership, outcome: str
) -> None:
    done = walk(aircraft, by=pilot, second=second, changes=pressure("2.5", outcome=outcome))
    (defect,) = done.defects
    assert defect.item == Item.objects.get(code=MEASURED)
    assert defect.description == "pressure 2.5 bar (minimum 3, maximum 3.6)"
    assert InspectionResult.objects.get(line__code=MEASURED).defect == defect


@pytest.mark.parametrize("outcome", ["satisfactory", "not_applicable", "not_checked"])
@pytest.mark.parametrize("code", [PLAIN, CRITICAL, TWO_PERSON, MEASURED, BALLAST])
def test_words_about_a_defect_are_a_defect_whatever_was_sent(
    aircraft: Aircraft, pilot: Membership, second: Membership, code: str, outcome: str
) -> None:
    words = {"outcome": outcome, "description": "Not as it should be.", "damage_kind": "wear", "position": "aft"}
    done = walk(aircraft, by=pilot, second=second, changes={code: words})
    (defect,) = done.defects
    assert (defect.item and defect.item.code, defect.description) == (code, "Not as it should be.")
    assert (defect.damage_kind, defect.position, defect.found_during) == ("wear", "aft", "walkaround")
    assert (defect.found_at, defect.reported_by) == (NOW, pilot)
    assert done.verdict.status.code == ("grounded" if code in (CRITICAL, TWO_PERSON) else "limited")


@pytest.mark.parametrize(
    ("sent", "description"),
    [
        ({}, "Sealing tape: not satisfactory"),
        ({"remark": "lifts at the root"}, "lifts at the root"),
        ({"remark": "see photo", "description": "Lifts."}, "Lifts."),
    ],
)
def test_how_a_defect_is_described(
    aircraft: Aircraft, pilot: Membership, second: Membership, sent: dict[str, Any], description: str
) -> None:
    done = walk(aircraft, by=pilot, second=second, changes={PLAIN: {"outcome": "defect", **sent}})
    assert [one.description for one in done.defects] == [description]


def test_words_and_a_value_outside_stand_together(aircraft: Aircraft, pilot: Membership, second: Membership) -> None:
    changes = pressure("2.5", description="Soft again.")
    (defect,) = walk(aircraft, by=pilot, second=second, changes=changes).defects
    assert defect.description == "Soft again.; pressure 2.5 bar (minimum 3, maximum 3.6)"


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        (pressure("3.2", "kg"), "/results/2/measurement/unit", "unit"),
        (pressure("3.2", "atm"), "/results/2/measurement/unit", "unit"),
        (pressure("3.2", ""), "/results/2/measurement/unit", "unit"),
        (pressure("100000000"), "/results/2/measurement/value", "too_large"),
        ({PLAIN: {"value": Decimal(1), "unit": "mm"}}, "/results/3/measurement", "not_measured"),
        ({BALLAST: {"value": Decimal(20_000_000_000), "unit": "mL"}}, "/results/4/measurement/value", "too_large"),
    ],
)
def test_a_measurement_that_cannot_be_right(
    aircraft: Aircraft,
    pilot: Membership,
    second: Membership,
    changes: dict[str, dict[str, Any]],
    pointer: str,
    code: str,
) -> None:
    with unchanged(), pytest.raises(Invalid) as refusal:
        walk(aircraft, by=pilot, second=second, changes=changes)
    assert [(one.pointer, one.code) for one in refusal.value.errors] == [(pointer, code)]


@pytest.mark.parametrize(
    ("limits", "value", "inside"),
    [
        ({"minimum": None}, "0", True),
        ({"minimum": None}, "3.7", False),
        ({"maximum": None}, "99", True),
        ({"maximum": None}, "2.9", False),
        ({"minimum": None, "maximum": None}, "99", True),
    ],
)
def test_a_limit_may_stand_alone(
    aircraft: Aircraft, pilot: Membership, second: Membership, limits: dict[str, Any], value: str, inside: bool
) -> None:
    Item.objects.filter(code=MEASURED).update(**limits)
    sheet = publish_sheet(aircraft.aircraft_type)
    done = walk(aircraft, by=pilot, second=second, sheet=sheet, changes=pressure(value))
    assert (done.defects == ()) is inside
