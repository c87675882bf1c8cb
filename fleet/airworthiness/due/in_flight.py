"""What becomes due while a planned flight is under way (AMC M.A.301(a))."""

from fleet.airworthiness.due.limit import Limits
from fleet.airworthiness.due.measures import CALENDAR, Dimension, Readings


def becomes_due_in_flight(limits: Limits, readings: Readings, flight: Readings) -> tuple[Dimension, ...]:
    """The dimensions whose limit is reached by the end of the flight, or was before it and is flown beyond.

    ``flight`` is what the flight adds; a dimension that is missing gets nothing. A limit or a reading that is not
    known counts as reached. The order is that of the dimensions.
    """
    reached = {
        limit.dimension
        for limit in limits.usage
        if _is_reached(limit.due, readings.get(limit.dimension), flight.get(limit.dimension, 0))
    }
    reached |= {measure for measure in limits.unknown if measure != CALENDAR}
    return tuple(dimension for dimension in Dimension if dimension in reached)


def _is_reached(due: int, reading: int | None, added: int) -> bool:
    return reading is None or (added > 0 and reading + added >= due)
