"""Serializer fields that every endpoint shares. They take JSON types at their word: no text for a number, no 1 for true."""

import re
import unicodedata
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django.utils.dateparse import parse_datetime
from rest_framework import serializers
from rest_framework.fields import empty

CLOCK_SKEW = timedelta(minutes=5)
FIRST_YEAR = 1900
"""No aircraft, document or person's act is older; earlier instants are typing errors."""
RFC_3339 = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)", re.ASCII)
ITEM_CODE = re.compile(r"^[a-z0-9][a-z0-9_.-]*\Z")
UCUM = re.compile(r"^[!-~]+\Z")
NOT_TEXT = "Send a JSON string."


class Text(serializers.CharField):
    """Text, trimmed, not blank, at least one visible character, at most ``max_length`` characters (default 2000)."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("max_length", 2000)
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> str:
        """Raises ValidationError for numbers and booleans too."""
        if not isinstance(data, str):
            raise serializers.ValidationError(NOT_TEXT, code="invalid")
        text: str = super().to_internal_value(data)
        if text and not any(_visible(character) for character in text):
            self.fail("blank")
        return text


def _visible(character: str) -> bool:
    return unicodedata.category(character)[0] not in "ZC"


class _Code(serializers.RegexField):
    """Text that has one of the forms of a code, nothing trimmed."""

    def __init__(self, form: re.Pattern[str], **options: Any) -> None:
        super().__init__(form, trim_whitespace=False, **options)

    def to_internal_value(self, data: Any) -> str:
        """Raises ValidationError."""
        if not isinstance(data, str):
            raise serializers.ValidationError(NOT_TEXT, code="invalid")
        code: str = super().to_internal_value(data)
        return code


class ItemCode(_Code):
    """Code of an item of the catalogue: lower-case letters, digits, ``_``, ``.`` and ``-``."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("max_length", 60)
        super().__init__(ITEM_CODE, **options)


class UnitCode(_Code):
    """UCUM code of a unit, for example ``bar``, ``mm``, ``N.m``."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("max_length", 20)
        super().__init__(UCUM, **options)


class Id(serializers.UUIDField):
    """A UUID as JSON string."""

    def to_internal_value(self, data: Any) -> UUID:
        """Raises ValidationError."""
        if not isinstance(data, str):
            self.fail("invalid", value=data)
        return super().to_internal_value(data)


class ClientId(Id):
    """The id that a client may choose for what it creates; the service chooses one otherwise."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        options.setdefault("help_text", "Your own id. The same id and content again answers the first answer.")
        super().__init__(**options)


class Whole(serializers.IntegerField):
    """A JSON integer; ``min_value`` and ``max_value`` default to what a database integer holds."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", -(2**31))
        options.setdefault("max_value", 2**31 - 1)
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> int:
        """Raises ValidationError for text, fractions and booleans."""
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        return super().to_internal_value(data)


class Flag(serializers.BooleanField):
    """A JSON boolean."""

    def to_internal_value(self, data: Any) -> bool:
        """Raises ValidationError for everything but true and false."""
        if not isinstance(data, bool):
            self.fail("invalid", input=data)
        return data


class CivilDate(serializers.DateField):
    """A date, ``YYYY-MM-DD``."""

    def to_internal_value(self, value: Any) -> date:
        """Raises ValidationError."""
        if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d\d-\d\d", value, re.ASCII):
            self.fail("invalid", format="YYYY-MM-DD")
        day = super().to_internal_value(value)
        if day.year < FIRST_YEAR:
            raise serializers.ValidationError(f"Check the year; it is before {FIRST_YEAR}.", code="too_early")
        return day


class Instant(serializers.DateTimeField):
    """An instant with its offset from UTC (RFC 3339); without an offset it is refused, not guessed."""

    def to_internal_value(self, value: Any) -> datetime:
        """Aware. Raises ValidationError."""
        if not isinstance(value, str) or not RFC_3339.fullmatch(value):
            raise serializers.ValidationError(
                "Send an instant with its offset, for example 2026-05-01T08:30:00Z (RFC 3339).", code="invalid_instant"
            )
        instant = _parsed(value)
        if instant is None or not FIRST_YEAR <= instant.year < 9999:
            raise serializers.ValidationError(
                "There is no such instant, or its year is a typing error.", code="invalid_instant"
            )
        return instant


def _parsed(value: str) -> datetime | None:
    try:
        return parse_datetime(value.upper())
    except ValueError:
        return None


class PastInstant(Instant):
    """An instant that has been; the clock of the sender may be five minutes ahead. Reads ``now`` from the context."""

    def to_internal_value(self, value: Any) -> datetime:
        """Raises ValidationError, with code ``in_future``."""
        instant = super().to_internal_value(value)
        if instant > self.context["now"] + CLOCK_SKEW:
            raise serializers.ValidationError("This is in the future. Send when it really was.", code="in_future")
        return instant


class Number(serializers.DecimalField):
    """A finite JSON number, kept as Decimal (by default 12 digits, 4 of them after the point)."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("max_digits", 12)
        options.setdefault("decimal_places", 4)
        options.setdefault("coerce_to_string", False)
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> Decimal:
        """Raises ValidationError for text and booleans too."""
        if isinstance(data, bool) or not isinstance(data, int | float | Decimal):
            self.fail("invalid")
        try:
            return super().to_internal_value(data)
        except (InvalidOperation, OverflowError):
            self.fail("invalid")

    def run_validation(self, data: Any = empty) -> Any:
        """Text is refused before the framework would turn it into a number."""
        if isinstance(data, str):
            self.fail("invalid")
        return super().run_validation(data)


class Quantity(serializers.Serializer[Any]):
    """A measured value with its unit, as ``{"value": 2.5, "unit": "bar"}``; the unit is a UCUM code."""

    value = Number()
    unit = UnitCode()
