"""Limits of a deferred defect by usage; those by days are in ``fleet.airworthiness.limits``."""

from collections.abc import Mapping

from fleet.airworthiness.due.measures import Dimension, Readings


def usage_limits(identified: Readings, allowed: Mapping[Dimension, int]) -> dict[Dimension, int]:
    """Absolute readings at which a deferral ends: what is allowed, counted from when the defect was identified.

    A deferral that is carried over keeps what was read when the defect was first identified (AMC1 ML.A.403(d)), so
    it gains nothing. Raises ValueError for a dimension whose reading is not known, and for an allowance below 1.
    """
    if unknown := [dimension.value for dimension in allowed if dimension not in identified]:
        raise ValueError(f"Record the usage first, nothing is known of: {', '.join(unknown)}.")
    if min(allowed.values(), default=1) < 1:
        raise ValueError("A deferral by usage needs at least 1 of what it is limited by.")
    return {dimension: identified[dimension] + amount for dimension, amount in allowed.items()}
