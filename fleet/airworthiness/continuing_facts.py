"""The fields that the rules of continuing airworthiness read."""

from typing import Protocol

from fleet.airworthiness.due_facts import DirectiveFact, DueFact, MissingPosition, UsageRecord
from fleet.airworthiness.facts import ClubPolicy


class ContinuingFacts(Protocol):
    """A part of what is known about one aircraft."""

    @property
    def aircraft_id(self) -> str: ...
    @property
    def policy(self) -> ClubPolicy: ...
    @property
    def due(self) -> tuple[DueFact, ...]: ...
    @property
    def directives(self) -> tuple[DirectiveFact, ...]: ...
    @property
    def missing_positions(self) -> tuple[MissingPosition, ...]: ...
    @property
    def usage_record(self) -> UsageRecord: ...
