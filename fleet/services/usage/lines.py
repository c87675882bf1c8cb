"""A line of usage as somebody says it, and with everything in it that follows from the rest."""

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from uuid import UUID

from fleet.airworthiness.flying_day import flying_day
from fleet.flights import whole_minutes
from fleet.models.usage import LAUNCH_KINDS

COUNTED = ("airframe_minutes", *LAUNCH_KINDS, "landings", "engine_minutes", "engine_starts", "cycles")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A flight, a day's flying, or the opening balance.

    What is None follows from the rest: the day is the civil date of the take-off in the club's zone, the minutes are
    those between take-off and landing, and there are as many landings as launches.
    """

    flown_on: date | None = None
    takeoff_at: datetime | None = None
    landing_at: datetime | None = None
    airframe_minutes: int | None = None
    winch_launches: int = 0
    aerotow_launches: int = 0
    self_launches: int = 0
    other_launches: int = 0
    landings: int | None = None
    engine_minutes: int = 0
    engine_starts: int = 0
    cycles: int = 0
    reference: str = ""
    remark: str = ""
    id: UUID | None = None
    place: int | None = None  # line of the file that it was read from

    @property
    def launches(self) -> int:
        """Of every kind."""
        return sum(getattr(self, kind) for kind in LAUNCH_KINDS)

    def times(self) -> tuple[datetime, datetime] | None:
        """Take-off and landing, if both are given and in order."""
        if self.takeoff_at is None or self.landing_at is None or self.landing_at <= self.takeoff_at:
            return None
        return self.takeoff_at, self.landing_at


def settled(line: Line, time_zone: str) -> Line:
    """The line with what follows from the rest of it; what does not follow stays None.

    Instants become UTC: two of one local zone are subtracted by their clocks, wrongly where those are changed.
    """
    takeoff, landing = (at and at.astimezone(UTC) for at in (line.takeoff_at, line.landing_at))
    line = replace(line, takeoff_at=takeoff, landing_at=landing)
    times = line.times()
    follows: dict[str, object] = {}
    if line.flown_on is None and line.takeoff_at is not None:
        follows["flown_on"] = flying_day(line.takeoff_at, time_zone)
    if line.airframe_minutes is None and times is not None:
        follows["airframe_minutes"] = whole_minutes(times[1] - times[0])
    if line.landings is None:
        follows["landings"] = line.launches
    return replace(line, **follows)  # type: ignore[arg-type]  # values of the fields named
