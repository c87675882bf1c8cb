"""A full sheet holds a walkaround and judges it. Facts: common practice, no source."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from defects.lifecycle import DEFER, RECTIFY, TRIAGE
from fleet.models import Aircraft, Item, Membership
from inspections.services.records import Recorded
from tests.defects.attempts import attempt, free_inspector
from tests.factories import NOW, fresh
from tests.inspections.walks import Changes, walk
from tests.outside import walkaround
from tests.outside.walkaround import (
    FIXED_BALLAST_KG,
    MAIN_TYRE_BAR,
    ROUTE,
    TAIL_TYRE_BAR,
    TAIL_WATER_L,
    WING,
    WING_WATER_PER_TAIL_WATER,
    sheet_of,
)
from tests.scenes import scene
from tests.verdicts import effects_of

pytestmark = pytest.mark.django_db

IN_ORDER: Changes = {
    "main-tyre": {"value": MAIN_TYRE_BAR, "unit": "bar"},
    "tail-tyre": {"value": TAIL_TYRE_BAR, "unit": "bar"},
    "fixed-tail-ballast": {"value": FIXED_BALLAST_KG, "unit": "kg"},
    "tail-tank": {"value": Decimal(1), "unit": "L"},
    "wing-tanks": {"value": Decimal(WING_WATER_PER_TAIL_WATER), "unit": "L"},
}
DEFECT: dict[str, Any] = {"outcome": "defect"}
CRITICAL_CODES = sorted(code for _zone, items in ROUTE for code, words in items.items() if words.get("critical"))
TOGETHER_CODES = sorted(code for _zone, items in ROUTE for code, words in items.items() if words.get("two_person"))


@pytest.fixture
def aircraft(db: None) -> Aircraft:
    """The two-seater."""
    scene("a walkaround", walkaround.build)
    return fresh(Aircraft.objects.get())


def member(aircraft: Aircraft, username: str) -> Membership:
    return aircraft.club.memberships.select_related("person", "club").get(person__username=username)


def walked(aircraft: Aircraft, changes: Changes | None = None, *, alone: bool = False, hours: int = 0) -> Recorded:
    """Everything in order but the changes."""
    second = None if alone else member(aircraft, "other")
    at = NOW + timedelta(hours=hours)
    merged = {**IN_ORDER, **(changes or {})}
    return walk(aircraft, by=member(aircraft, "first"), second=second, at=at, changes=merged)


def test_the_route_begins_in_the_cockpit_goes_round_and_ends_at_the_nose(aircraft: Aircraft) -> None:
    lines = list(sheet_of(aircraft).lines.order_by("position"))
    assert (lines[0].zone, lines[-1].zone) == ("cockpit", "nose")
    first = {(line.zone, line.side): line.position for line in reversed(lines)}
    assert first["wing", "left"] < first["tail", "centre"] < first["wing", "right"] < first["nose", "centre"]


def test_the_right_wing_mirrors_the_left(aircraft: Aircraft) -> None:
    compared = ("title", "zone", "critical", "deferrable", "two_person", "handling_note", "caution", "quantity")
    wings = {}
    for side in ("left", "right"):
        lines = sheet_of(aircraft).lines.filter(zone="wing", side=side).order_by("position")
        wings[side] = [
            [str(getattr(line, name)).casefold().removeprefix(f"{side} ") for name in compared] for line in lines
        ]
    assert wings["left"] == wings["right"]
    assert len(wings["left"]) == len(WING)


def test_lines_keep_cautions_and_handling_notes(aircraft: Aircraft) -> None:
    words = {line.code: line for line in sheet_of(aircraft).lines.all()}
    assert words["instrument-panel"].caution.endswith("lower edge only.")
    assert words["canopy-locked"].caution.endswith("wind.")
    assert "twists" in words["rudder-play"].handling_note
    assert "linkage" in words["left-aileron-play"].handling_note


def test_in_order_it_is_serviceable_and_ready(aircraft: Aircraft) -> None:
    done = walked(aircraft)
    assert (done.inspection.missing, done.defects) == ([], ())
    assert (done.verdict.status.code, done.verdict.ready_today) == ("serviceable", True)


@pytest.mark.parametrize(
    ("code", "bar", "inside"),
    [
        ("main-tyre", MAIN_TYRE_BAR, True),
        ("main-tyre", TAIL_TYRE_BAR, False),
        ("tail-tyre", TAIL_TYRE_BAR, True),
        ("tail-tyre", MAIN_TYRE_BAR, False),
    ],
)
def test_tyres_are_measured(aircraft: Aircraft, code: str, bar: Decimal, inside: bool) -> None:
    done = walked(aircraft, {code: {"value": bar * 100, "unit": "kPa"}})
    assert [defect.item and defect.item.code for defect in done.defects] == ([] if inside else [code])


@pytest.mark.parametrize("code", CRITICAL_CODES)
def test_a_defect_of_a_critical_item_grounds_at_once(aircraft: Aircraft, code: str) -> None:
    assert effects_of(walked(aircraft, {code: DEFECT})) == {"critical_item_defect": "grounds"}


def test_both_wing_main_pins_are_critical_and_cannot_be_left_out(aircraft: Aircraft) -> None:
    pins = Item.objects.filter(code__startswith="wing-pin-")
    assert [(pin.side, pin.critical, pin.deferrable) for pin in pins.order_by("side")] == [
        ("left", True, False),
        ("right", True, False),
    ]
    for code in ("wing-pin-left", "wing-pin-right"):
        done = walked(aircraft, {code: {"outcome": "not_applicable"}})
        assert done.inspection.missing == [code]


def test_control_checks_and_play_are_felt_with_a_second_person(aircraft: Aircraft) -> None:
    done = walked(aircraft, alone=True)
    assert sorted(done.inspection.missing) == TOGETHER_CODES
    assert {"left-aileron-check", "right-flap-check", "rudder-play", "elevator-play"} <= set(TOGETHER_CODES)


@pytest.mark.parametrize("side", ["left", "right"])
def test_sealing_tape_standing_up_never_grounds(aircraft: Aircraft, side: str) -> None:
    done = walked(aircraft, {f"{side}-sealing-tape": DEFECT | {"description": "Stands up."}})
    (defect,) = done.defects
    assert (effects_of(done), done.verdict.ready_today) == ({"untriaged_defect": "limits"}, True)
    inspector = free_inspector(aircraft)
    assert effects_of(attempt(TRIAGE, defect, by=inspector)) == {"assessed_defect": "limits"}
    assert effects_of(attempt(DEFER, defect, by=inspector)) == {"deferral_running": "limits"}


def test_sealing_tape_may_be_held_for_no_defect_at_all(aircraft: Aircraft) -> None:
    (defect,) = walked(aircraft, {"left-sealing-tape": DEFECT}).defects
    acted = attempt(TRIAGE, defect, by=free_inspector(aircraft), assessment="no_defect")
    assert (acted.verdict.status.code, acted.verdict.ready_today) == ("serviceable", True)


@pytest.mark.parametrize("code", ["fixed-tail-ballast", "tail-tank", "wing-tanks"])
def test_ballast_that_is_not_known_grounds_until_it_is_drained_or_out(aircraft: Aircraft, code: str) -> None:
    done = walked(aircraft, {code: {"value": None, "unit": ""}})
    assert effects_of(done) == {"ballast_unknown": "grounds"}
    unit = "kg" if code == "fixed-tail-ballast" else "L"
    again = walked(aircraft, {code: {"value": Decimal(0), "unit": unit}}, hours=1)
    assert (again.verdict.status.code, again.verdict.ready_today) == ("serviceable", True)


@pytest.mark.parametrize(
    ("code", "value", "unit", "inside"),
    [
        ("tail-tank", TAIL_WATER_L, "L", True),
        ("tail-tank", TAIL_WATER_L * 1000, "mL", True),
        ("tail-tank", TAIL_WATER_L + Decimal("0.1"), "L", False),
        ("wing-tanks", TAIL_WATER_L * WING_WATER_PER_TAIL_WATER, "L", True),
        ("wing-tanks", TAIL_WATER_L * WING_WATER_PER_TAIL_WATER + 1, "L", False),
        ("fixed-tail-ballast", FIXED_BALLAST_KG, "kg", True),  # two-up
        ("fixed-tail-ballast", Decimal(0), "kg", True),  # solo
        ("fixed-tail-ballast", FIXED_BALLAST_KG + 1, "kg", False),
    ],
)
def test_ballast_has_limits(aircraft: Aircraft, code: str, value: Decimal, unit: str, inside: bool) -> None:
    done = walked(aircraft, {code: {"value": value, "unit": unit}})
    assert (done.defects == ()) is inside
    assert done.inspection.ballast_known


def test_a_flat_tyre_is_rectified_with_the_pressure_that_the_item_demands(aircraft: Aircraft) -> None:
    (defect,) = walked(aircraft, {"main-tyre": {"value": TAIL_TYRE_BAR, "unit": "bar"}}).defects
    inspector = free_inspector(aircraft)
    attempt(TRIAGE, defect, by=inspector)
    measured = [{"quantity": "pressure", "value": MAIN_TYRE_BAR, "unit": "bar"}]
    assert attempt(RECTIFY, defect, by=inspector, measurements=measured).defect.state == "rectified"
