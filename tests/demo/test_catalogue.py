"""The catalogues: well-formed, and the route of the full one."""

import re
from dataclasses import replace
from itertools import groupby

import pytest

from config.demo.catalogue.spec import Catalogue, ItemSpec, pick, routes
from config.demo.catalogue.types import FENNICK, HOLLBECK, MERROW_ONE, MERROW_TWO, TARNFELL, TypeSpec
from config.demo.hangar import FLEET, NEIGHBOURS
from fleet.airworthiness.quantities import unit
from fleet.airworthiness.registration import NATIONALITY_MARKS, validate
from fleet.models import AircraftCategory, Side, Zone
from inspections.models import InspectionKind

TYPES = (MERROW_TWO, MERROW_ONE, FENNICK, TARNFELL, HOLLBECK)
SAILPLANES = (AircraftCategory.SAILPLANE, AircraftCategory.POWERED_SAILPLANE)
# Joint Aircraft System/Component Code Table (FAA, 27 Oct 2008); most titles from memory, reproduced
SYSTEM_CODES = frozenset(
    """
    1100 1210 1220 1230 1240 1410 1430 2312 2432 2510 2562 2563 2621 2622 2700 2701 2710 2711 2720 2721 2730 2731 2740
    2750 2760 2770 2810 2820 2823 3110 3200 3210 3213 3220 3222 3230 3233 3240 3242 3244 3245 3246 3252 3270 3411 3414
    3416 3423 3452 3510 3530 5210 5220 5280 5300 5301 5310 5340 5341 5342 5347 5510 5511 5512 5520 5530 5532 5533 5534
    5540 5551 5552 5553 5554 5610 5700 5710 5711 5712 5730 5740 5741 5744 5751 5755 6110 6111 6113 6114 6122 7110 7120
    7322 7414 7420 7421 7602 7603 7810 8011 8500 8520 8530 8540 8570
    """.split()  # noqa: SIM905
)
each_type = pytest.mark.parametrize("spec", TYPES, ids=lambda spec: spec.designation)


def daily(spec: TypeSpec) -> list[ItemSpec]:
    codes = routes(spec.catalogue)[InspectionKind.DAILY]
    return [item for item in spec.catalogue if item.code in codes]


@each_type
def test_codes_and_titles_are_unique(spec: TypeSpec) -> None:
    assert len({item.code for item in spec.catalogue}) == len(spec.catalogue)
    assert len({item.title for item in spec.catalogue}) == len(spec.catalogue)


@each_type
def test_items_are_well_formed(spec: TypeSpec) -> None:
    for item in spec.catalogue:
        assert not (item.critical and item.deferrable), item.code
        assert bool(item.quantity) == bool(item.unit), item.code
        assert not item.unit or unit(item.unit)
        assert item.quantity or (item.minimum, item.maximum) == (None, None), item.code
        assert not item.system_code or item.system_code in SYSTEM_CODES, item.code
        assert not item.ballast or item.minimum == 0, f"{item.code}: none on board must be inside the limits"


@each_type
def test_the_side_is_the_one_that_the_code_names(spec: TypeSpec) -> None:
    for item in spec.catalogue:
        named = re.search(r"\b(left|right)\b", item.code.replace("-", " "))
        if named:
            assert item.side == named[1]
            assert named[1] in item.title.lower()


@each_type
def test_every_type_has_a_daily_sheet_of_a_sensible_length_and_sailplanes_one_for_after_rigging(spec: TypeSpec) -> None:
    sheets = routes(spec.catalogue)
    assert 15 <= len(sheets[InspectionKind.DAILY]) <= 100
    assert (InspectionKind.AFTER_RIGGING in sheets) == (spec.category in SAILPLANES)
    assert InspectionKind.UNSCHEDULED in sheets


@each_type
def test_what_is_checked_after_rigging_holds_or_moves_the_aircraft(spec: TypeSpec) -> None:
    rigged = [item for item in spec.catalogue if item.rigging]
    assert all(item.critical for item in rigged)
    assert not rigged or any(item.two_person for item in rigged)


def test_the_two_seater_has_the_full_sheet_and_all_four_kinds() -> None:
    assert 70 <= len(daily(MERROW_TWO)) <= 100
    assert set(routes(MERROW_TWO.catalogue)) == set(InspectionKind)


def test_the_walk_starts_at_the_cockpit_and_ends_at_the_nose_counter_clockwise() -> None:
    stations = [
        ("left wing" if item.code.startswith("wing-left") else "right wing")
        if item.code.startswith("wing-")
        else "tail"
        if item.zone in (Zone.TAIL, Zone.BALLAST) or item.code.startswith("tail-")
        else Zone(item.zone).value
        for item in daily(MERROW_TWO)
    ]
    walked = [station for station, _items in groupby(stations)]
    assert walked == ["cockpit", "engine", "gear", "left wing", "wing", "fuselage", "tail", "right wing", "nose"]


def mirrored(item: ItemSpec) -> ItemSpec:
    return replace(
        item,
        code=item.code.replace("left", "right"),
        title=item.title.replace("Left", "Right"),
        side=Side.RIGHT,
    )


def wing_of(catalogue: Catalogue, side: Side) -> list[ItemSpec]:
    return [item for item in catalogue if item.code.startswith(f"wing-{side}")]


def test_the_right_wing_mirrors_the_left() -> None:
    left, right = (wing_of(MERROW_TWO.catalogue, side) for side in (Side.LEFT, Side.RIGHT))
    assert len(left) > 10
    assert [mirrored(item) for item in reversed(left)] == right


@pytest.mark.parametrize("mark", [one.registration for one in (*FLEET, *NEIGHBOURS)])
def test_marks_are_well_formed_and_no_state_allocates_them(mark: str) -> None:
    assert validate(mark) == []
    assert mark.startswith("ZZ-")
    assert "ZZ" not in NATIONALITY_MARKS


def test_marks_and_serial_numbers_are_unique() -> None:
    fleet = (*FLEET, *NEIGHBOURS)
    assert len({one.registration for one in fleet}) == len(fleet)
    assert len({(one.type.designation, one.serial_number) for one in fleet}) == len(fleet)


def test_picking_an_item_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="no-such-item"):
        pick(MERROW_TWO.catalogue, {"papers", "no-such-item"})
