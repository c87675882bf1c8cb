"""What an aircraft was used, month by month."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

MONTHS_OF_A_YEAR = range(1, 13)


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthlyUsage:
    """Usage of one whole month, in the unit of one dimension. A month without flights is 0; one left out is unknown."""

    year: int
    month: int  # 1 to 12
    amount: int

    def __post_init__(self) -> None:
        if self.month not in MONTHS_OF_A_YEAR or self.amount < 0:
            raise ValueError(f"{self.year}-{self.month}: a month is 1 to 12 and its usage not negative.")


def before(history: Sequence[MonthlyUsage], today: date) -> tuple[MonthlyUsage, ...]:
    """The whole months before the running one, oldest first. Raises ValueError for a month told twice."""
    whole = sorted((one for one in history if (one.year, one.month) < (today.year, today.month)), key=_month)
    if len({_month(one) for one in whole}) < len(whole):
        raise ValueError("A month of the history is told twice: add its entries up first.")
    return tuple(whole)


def _month(one: MonthlyUsage) -> tuple[int, int]:
    return one.year, one.month
