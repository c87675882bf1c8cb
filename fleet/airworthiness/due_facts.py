"""What the rules know about continuing airworthiness: due items, directives, positions, usage."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from fleet.airworthiness.due.limit import Limits
from fleet.airworthiness.due.measures import Dimension, Measure, Readings
from fleet.airworthiness.due.state import State, state

Decision = Literal["applicable", "not_applicable"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DueFact:
    """One task on one aircraft or component, with the limits stored when it was last signed."""

    task_id: str
    title: str
    mandatory: bool
    subject_type: str  # "aircraft" or "component"
    subject_id: str
    subject_label: str  # names a component; an aircraft is not named on its own page
    limits: Limits
    readings: Readings  # of the aircraft or component itself, as they are now
    known: bool  # False: neither a compliance nor a start is recorded from which to count

    @property
    def life_limit(self) -> bool:
        """A life limit, which always counts as mandatory."""
        return self.limits.life_limit

    @property
    def grounding(self) -> bool:
        """Whether the aircraft may not fly when it is overdue or unknown."""
        return self.mandatory or self.life_limit

    def state(self, today: date) -> State:
        """The due state on a flying day."""
        return state(self.limits, self.readings, today) if self.known else State.UNKNOWN

    def unread(self) -> tuple[Dimension, ...]:
        """Limited dimensions whose reading is not known now."""
        return tuple(limit.dimension for limit in self.limits.usage if limit.dimension not in self.readings)

    def unsigned(self) -> tuple[Measure, ...]:
        """Measures for which nothing is known from which to count."""
        return self.limits.unknown


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectiveFact:
    """One directive that may concern the aircraft, in its latest revision."""

    id: str
    reference: str
    title: str
    decision: Decision | None  # None: nobody has decided yet whether it applies
    complied_finally: bool  # done, and nothing repeats
    limits: Limits | None  # None: not known
    readings: Readings

    def state(self, today: date) -> State:
        """The due state of an applicable directive on a flying day."""
        if self.complied_finally:
            return State.OK
        return State.UNKNOWN if self.limits is None else state(self.limits, self.readings, today)


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingPosition:
    """A required position at which no component is installed."""

    id: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsageRecord:
    """How well recorded usage keeps up with flying."""

    last_recorded_at: datetime | None  # up to when usage is recorded; None: never
    sign_of_flight_at: datetime | None  # the latest sign that it flew; None: no sign
