"""Deferrals by usage."""

import pytest

from fleet.airworthiness.due import Dimension
from fleet.airworthiness.due.deferral import usage_limits
from tests.airworthiness.due_builders import LAUNCHES, MINUTES, h


def test_a_deferral_counts_from_when_the_defect_was_identified() -> None:
    # Category A of a minimum equipment list: as stated in the remark, here 25 hours or 40 flights (own example).
    identified = {MINUTES: h(1000), LAUNCHES: 2000, Dimension.CYCLES: 7}
    assert usage_limits(identified, {MINUTES: h(25), LAUNCHES: 40}) == {MINUTES: h(1025), LAUNCHES: 2040}
    assert usage_limits(identified, {}) == {}


def test_usage_that_is_not_known_cannot_be_counted_from() -> None:
    with pytest.raises(ValueError, match="nothing is known of: airframe_minutes, launches"):
        usage_limits({}, {MINUTES: 60, LAUNCHES: 1})


@pytest.mark.parametrize("amount", [0, -1])
def test_nothing_is_no_limit(amount: int) -> None:
    with pytest.raises(ValueError, match="at least 1"):
        usage_limits({MINUTES: 5, LAUNCHES: 5}, {MINUTES: 60, LAUNCHES: amount})
