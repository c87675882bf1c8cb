"""Flight time in whole minutes: read once at the edge, turned into decimal hours only to be shown.

Kept in tenths of an hour, 300 flights of 20 minutes would lose 10 hours.
"""

import re
from decimal import ROUND_HALF_UP, Context, Decimal

_WRITTEN = re.compile(r"([0-9]{1,7}):([0-5][0-9])")
_CONTEXT = Context(prec=28, rounding=ROUND_HALF_UP)  # not the caller's context


def minutes_of(text: str) -> int:
    """Minutes of a time written as hours and minutes, ``1:47``. Raises ValueError for anything else."""
    written = _WRITTEN.fullmatch(text)
    if written is None:
        raise ValueError(f"{text!r} is no flight time: write hours and minutes, as in 1:47.")
    return int(written[1]) * 60 + int(written[2])


def decimal_hours(minutes: int, places: int = 1) -> Decimal:
    """Decimal hours to be shown, half a unit of the last place rounded away from zero."""
    exact = _CONTEXT.divide(Decimal(minutes), Decimal(60))
    return exact.quantize(Decimal(1).scaleb(-places), context=_CONTEXT)
