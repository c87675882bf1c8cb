"""What the aircraft of the demo fly. All numbers are invented."""

from datetime import date

from fleet.models import AircraftCategory
from fleet.services.usage import Line

UNDER_POWER = (AircraftCategory.TOURING_MOTOR_GLIDER, AircraftCategory.AEROPLANE)  # the others go up on the winch


def flying(category: str, on: date, minutes: int, launches: int) -> Line:
    """A day's flying, or an opening balance."""
    if category in UNDER_POWER:
        return Line(
            flown_on=on,
            airframe_minutes=minutes,
            self_launches=launches,
            engine_minutes=minutes,
            engine_starts=launches,
        )
    return Line(flown_on=on, airframe_minutes=minutes, winch_launches=launches)
