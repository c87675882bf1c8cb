"""Units of measured values: UCUM codes, converted exactly and rounded once."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from types import MappingProxyType

_PRECISION = Context(prec=28, rounding=ROUND_HALF_EVEN)  # significant digits; not the caller's context

_LARGEST_EXPONENT = 30  # exact arithmetic on 1E+999999 would take for ever

# Exact by definition (NIST SP 811, appendix B).
_POUND_KG = Fraction("0.45359237")
_INCH_M = Fraction("0.0254")
_STANDARD_GRAVITY = Fraction("9.80665")  # m/s2


@dataclass(frozen=True, slots=True)
class Unit:
    """What a unit measures, and how many of the dimension's base unit it is."""

    dimension: str
    factor: Fraction


def _unit(dimension: str, factor: str | int | Fraction = 1) -> Unit:
    return Unit(dimension, Fraction(factor))


UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        "bar": _unit("pressure", 100_000),
        "kPa": _unit("pressure", 1_000),
        "hPa": _unit("pressure", 100),
        "[psi]": _unit("pressure", _POUND_KG * _STANDARD_GRAVITY / _INCH_M**2),
        "kg": _unit("mass"),
        "g": _unit("mass", "0.001"),
        "[lb_av]": _unit("mass", _POUND_KG),
        "L": _unit("volume"),
        "mL": _unit("volume", "0.001"),
        "m": _unit("length"),
        "cm": _unit("length", "0.01"),
        "mm": _unit("length", "0.001"),
        "[in_i]": _unit("length", _INCH_M),
        "N": _unit("force"),
        "N.m": _unit("moment of force"),
        "Cel": _unit("temperature"),
        "deg": _unit("angle"),
        "V": _unit("voltage"),
        "A": _unit("current"),
        "1": _unit("ratio"),
        "%": _unit("ratio", "0.01"),
    }
)


def unit(code: str) -> Unit:
    """The unit of a UCUM code. Raises ValueError naming the codes that can be used."""
    if code not in UNITS:
        raise ValueError(f"Unknown unit {code!r}: use one of {', '.join(UNITS)}.")
    return UNITS[code]


def convert(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """The value in another unit of the same dimension, to 28 significant digits; the same unit leaves it untouched.

    Raises ValueError for an unknown unit, another dimension, or a value that is no measurable number.
    """
    source, target = unit(from_unit), unit(to_unit)
    if source.dimension != target.dimension:
        fitting = ", ".join(code for code, other in UNITS.items() if other.dimension == target.dimension)
        raise ValueError(f"{from_unit} measures {source.dimension}, not {target.dimension}: use one of {fitting}.")
    if not value.is_finite() or abs(value.adjusted()) > _LARGEST_EXPONENT:
        raise ValueError("The value is not a number of a measurable size: correct it.")
    if from_unit == to_unit:
        return value
    exact = Fraction(value) * source.factor / target.factor
    return _PRECISION.divide(Decimal(exact.numerator), Decimal(exact.denominator))


def within(value: Decimal, minimum: Decimal | None, maximum: Decimal | None) -> bool:
    """Whether the value lies inside its limits, which belong to it; all in one unit. No number lies inside nothing."""
    if not value.is_finite():
        return False
    return (minimum is None or value >= minimum) and (maximum is None or value <= maximum)
