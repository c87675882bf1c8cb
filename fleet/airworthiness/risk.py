"""Safety risk matrix: severity by likelihood, five by five.

Scales and the example matrix: ICAO Doc 9859 (cells from memory; 4B read). The manual offers it as an example to be
adapted, so a club can bring its own matrix.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Region = Literal["intolerable", "tolerable", "acceptable"]

SEVERITIES: Mapping[str, str] = {"A": "catastrophic", "B": "hazardous", "C": "major", "D": "minor", "E": "negligible"}
LIKELIHOODS: Mapping[int, str] = {
    5: "frequent",
    4: "occasional",
    3: "remote",
    2: "improbable",
    1: "extremely improbable",
}
CELLS = frozenset(f"{likelihood}{severity}" for likelihood in LIKELIHOODS for severity in SEVERITIES)


@dataclass(frozen=True, slots=True)
class RiskMatrix:
    """Regions of the matrix; the cells (likelihood, then severity) in neither set are acceptable."""

    intolerable: frozenset[str]
    tolerable: frozenset[str]

    def __post_init__(self) -> None:
        unknown = (self.intolerable | self.tolerable) - CELLS
        twice = self.intolerable & self.tolerable
        if unknown or twice:
            raise ValueError(f"Each cell belongs to one region: correct {sorted(unknown | twice)}.")

    def region(self, severity: str, likelihood: int) -> Region:
        """Tolerability of a risk. Raises ValueError outside the scales."""
        cell = f"{likelihood}{severity}"
        if cell not in CELLS:
            raise ValueError(f"No cell {cell!r}: severity is A to E, likelihood is 1 to 5.")
        if cell in self.intolerable:
            return "intolerable"
        return "tolerable" if cell in self.tolerable else "acceptable"


EXAMPLE_MATRIX = RiskMatrix(
    intolerable=frozenset({"5A", "5B", "5C", "4A", "4B", "3A"}),
    tolerable=frozenset({"5D", "5E", "4C", "4D", "4E", "3B", "3C", "3D", "2A", "2B", "2C", "1A"}),
)


def region(severity: str, likelihood: int, matrix: RiskMatrix = EXAMPLE_MATRIX) -> Region:
    """Tolerability of a risk of severity A to E and likelihood 1 to 5."""
    return matrix.region(severity, likelihood)
