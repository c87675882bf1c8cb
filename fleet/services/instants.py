"""Checks of what people say about time."""

from datetime import datetime, timedelta

from fleet.errors import FieldError, Invalid

CLOCK_SKEW = timedelta(minutes=5)  # how far ahead the clock of a phone may run


def require_past(*, at: datetime, **instants: datetime | None) -> None:
    """Refuse instants later than ``at`` plus the permitted clock skew; names are the fields that carry them."""
    errors = tuple(
        FieldError(
            f"/{name}",
            "in_future",
            "This lies in the future. Give the instant at which it happened.",
        )
        for name, instant in instants.items()
        if instant is not None and instant > at + CLOCK_SKEW
    )
    if errors:
        raise Invalid("invalid", "Something is said to have happened in the future.", errors)


def require_order(*, earlier: tuple[str, datetime], later: tuple[str, datetime]) -> None:
    """Refuse a later instant that lies before an earlier one."""
    if later[1] < earlier[1]:
        detail = f"This lies before {earlier[0]}. Correct one of the two."
        raise Invalid("invalid", detail, (FieldError(f"/{later[0]}", "out_of_order", detail),))
