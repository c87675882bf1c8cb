"""The safety risk matrix of ICAO Doc 9859 in a triage: an intolerable risk is no "no hazard"."""

from typing import Any

import pytest

from defects.lifecycle import TRIAGE
from fleet.airworthiness.risk import LIKELIHOODS, SEVERITIES
from fleet.errors import Invalid
from fleet.models import Aircraft, Role
from tests.defects.attempts import attempt
from tests.factories import reported
from tests.outside.conftest import Everybody
from tests.unchanged import taken_back

pytestmark = pytest.mark.django_db

# ICAO Doc 9859, 3rd and 4th edition, example matrix; cells from memory, reproduced, but 4B which was read.
INTOLERABLE = {"5A", "5B", "5C", "4A", "4B", "3A"}
TOLERABLE = {"5D", "5E", "4C", "4D", "4E", "3B", "3C", "3D", "2A", "2B", "2C", "1A"}
ACCEPTABLE = {"3E", "2D", "2E", "1B", "1C", "1D", "1E"}
CELLS = {f"{likelihood}{severity}" for likelihood in LIKELIHOODS for severity in SEVERITIES}


def test_the_published_sets_partition_the_matrix() -> None:
    # Check value T59: 6 + 12 + 7 cells (ICAO Doc 9859, from memory, reproduced).
    assert [len(cells) for cells in (INTOLERABLE, TOLERABLE, ACCEPTABLE)] == [6, 12, 7]
    assert INTOLERABLE | TOLERABLE | ACCEPTABLE == CELLS


def refused(aircraft: Aircraft, everybody: Everybody, assessment: str, cells: set[str]) -> set[str]:
    """The cells with which such a triage is refused."""
    defect = reported(aircraft)
    found = set()
    for cell in sorted(cells):
        risk: dict[str, Any] = {"severity": cell[1], "likelihood": int(cell[0])}
        with taken_back():
            try:
                attempt(TRIAGE, defect, by=everybody[Role.INSPECTOR], assessment=assessment, **risk)
            except Invalid:
                found.add(cell)
    return found


def test_cells_that_were_checked(aircraft: Aircraft, everybody: Everybody) -> None:
    # Check value T57: 5C intolerable, 5D tolerable, 3A and 4B intolerable (ICAO Doc 9859; 4B read).
    assert refused(aircraft, everybody, "no_hazard", {"5C", "5D", "3A", "4B"}) == {"5C", "3A", "4B"}


@pytest.mark.parametrize("assessment", ["no_hazard", "no_defect", "hazard"])
def test_an_intolerable_risk_is_assessed_as_a_hazard_or_not_at_all(
    aircraft: Aircraft, everybody: Everybody, assessment: str
) -> None:
    expected = set() if assessment == "hazard" else INTOLERABLE
    assert refused(aircraft, everybody, assessment, CELLS) == expected
