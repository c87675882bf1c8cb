"""Units of measured values."""

from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.airworthiness.quantities import UNITS, convert, unit, within

PAIRS = [(one, other) for one in UNITS for other in UNITS if UNITS[one].dimension == UNITS[other].dimension]
values = st.decimals(min_value=-100_000, max_value=100_000, places=6)


def test_psi_from_its_definition() -> None:
    # Check value pr.psi_pa: 6894.757293168361 Pa (NIST SP 811, appendix B: pound, standard gravity and inch are exact).
    pascal = convert(Decimal(1), "[psi]", "kPa") * 1000
    assert abs(pascal - Decimal("6894.757293168361")) < Decimal("1e-9")


def test_bar_in_psi() -> None:
    # Check value pr.bar_psi: 1 bar = 100000 Pa exactly.
    assert abs(convert(Decimal(1), "bar", "[psi]") - Decimal("14.503773773020923")) < Decimal("1e-12")


def test_a_tyre_pressure() -> None:
    # Check value pr.conversions (derived from the above).
    assert convert(Decimal("2.5"), "bar", "kPa") == Decimal(250)
    assert abs(convert(Decimal("2.5"), "bar", "[psi]") - Decimal("36.2594")) < Decimal("0.0001")


@pytest.mark.parametrize(
    ("value", "from_unit", "to_unit", "expected"),
    [
        ("1", "kg", "g", "1000"),
        ("1", "[lb_av]", "kg", "0.45359237"),  # exact (NIST SP 811, appendix B)
        ("1", "[in_i]", "mm", "25.4"),  # exact (NIST SP 811, appendix B)
        ("25.4", "mm", "[in_i]", "1"),
        ("1", "m", "cm", "100"),
        ("1013.25", "hPa", "bar", "1.01325"),
        ("8", "L", "mL", "8000"),
        ("12.5", "%", "1", "0.125"),
        ("-3", "Cel", "Cel", "-3"),
        ("20", "deg", "deg", "20"),
        ("45", "N", "N", "45"),
        ("12", "N.m", "N.m", "12"),
        ("12.6", "V", "V", "12.6"),
        ("0.5", "A", "A", "0.5"),
        ("0", "bar", "[psi]", "0"),
    ],
)
def test_conversions(value: str, from_unit: str, to_unit: str, expected: str) -> None:
    assert convert(Decimal(value), from_unit, to_unit) == Decimal(expected)


def test_the_same_unit_leaves_every_digit() -> None:
    written = Decimal("2.50000000000000000000000000000000001")
    assert str(convert(written, "bar", "bar")) == str(written)


@pytest.mark.parametrize(
    ("from_unit", "to_unit", "match"),
    [
        ("psi", "bar", "Unknown unit 'psi': use one of bar"),
        ("bar", "", "Unknown unit '': use one of"),
        ("bar", "kg", "bar measures pressure, not mass: use one of kg, g,"),
        ("N", "N.m", "N measures force, not moment of force: use one of N.m"),
        ("deg", "1", "deg measures angle, not ratio"),
    ],
)
def test_what_cannot_be_converted_says_what_to_use(from_unit: str, to_unit: str, match: str) -> None:
    with pytest.raises(ValueError, match=match.replace("[", r"\[")):
        convert(Decimal(1), from_unit, to_unit)


@pytest.mark.parametrize("value", ["NaN", "sNaN", "Infinity", "-Infinity", "1E+31", "1E-31", "1E+999999"])
def test_what_is_no_measured_number_is_refused(value: str) -> None:
    with pytest.raises(ValueError, match="correct it"):
        convert(Decimal(value), "bar", "kPa")


def test_the_largest_and_the_smallest_measured_numbers() -> None:
    assert convert(Decimal("1E+30"), "kg", "g") == Decimal("1E+33")
    assert convert(Decimal("1E-30"), "g", "kg") == Decimal("1E-33")


def test_a_result_has_28_significant_digits() -> None:
    # 1 bar in psi (pr.bar_psi), from the exact factors by long division.
    assert str(convert(Decimal(1), "bar", "[psi]")) == "14.50377377302092151542410280"


def test_what_is_measured() -> None:
    assert {one.dimension for one in UNITS.values()} == {
        "pressure",
        "mass",
        "volume",
        "length",
        "force",
        "moment of force",
        "temperature",
        "angle",
        "voltage",
        "current",
        "ratio",
    }


def test_a_unit_by_its_code() -> None:
    assert unit("bar").dimension == "pressure"
    with pytest.raises(ValueError, match="Unknown unit"):
        unit("BAR")


@given(value=values, pair=st.sampled_from(PAIRS))
def test_there_and_back_again(value: Decimal, pair: tuple[str, str]) -> None:
    there = convert(value, *pair)
    assert abs(convert(there, *pair[::-1]) - value) <= abs(value) * Decimal("1e-26")


@given(value=values, pair=st.sampled_from(PAIRS))
def test_the_precision_of_the_caller_does_not_matter(value: Decimal, pair: tuple[str, str]) -> None:
    with localcontext(prec=3):
        coarse = convert(value, *pair)
    assert coarse == convert(value, *pair)


@pytest.mark.parametrize(
    ("value", "minimum", "maximum", "expected"),
    [
        ("2.5", "2.4", "2.6", True),
        ("2.4", "2.4", "2.6", True),
        ("2.40", "2.4", "2.6", True),
        ("2.6", "2.4", "2.6", True),
        ("2.39999", "2.4", "2.6", False),
        ("2.60001", "2.4", "2.6", False),
        ("-1", None, "0", True),
        ("1", None, "0", False),
        ("1", "0", None, True),
        ("-1", "0", None, False),
        ("1", None, None, True),
        ("1", "2", "0", False),
        ("NaN", None, None, False),
        ("Infinity", "0", None, False),
    ],
)
def test_limits_belong_to_what_is_permitted(
    value: str, minimum: str | None, maximum: str | None, expected: bool
) -> None:
    limits = [None if limit is None else Decimal(limit) for limit in (minimum, maximum)]
    assert within(Decimal(value), *limits) is expected
