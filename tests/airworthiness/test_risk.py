"""The risk matrix."""

from collections import Counter

import pytest

from fleet.airworthiness.risk import LIKELIHOODS, SEVERITIES, RiskMatrix, region


@pytest.mark.parametrize(
    ("severity", "likelihood", "expected"),
    [
        # Check value T57, and the test line of RM-2: ICAO Doc 9859 (4B read; the others from memory, reproduced).
        ("C", 5, "intolerable"),
        ("D", 5, "tolerable"),
        ("A", 3, "intolerable"),
        ("B", 4, "intolerable"),
        ("A", 1, "tolerable"),
        ("B", 1, "acceptable"),
        ("E", 3, "acceptable"),
    ],
)
def test_cells_of_the_example_matrix(severity: str, likelihood: int, expected: str) -> None:
    assert region(severity, likelihood) == expected


def test_the_regions_partition_all_cells() -> None:
    # Check value T59: 6 + 12 + 7 cells (ICAO Doc 9859, from memory, reproduced).
    counts = Counter(region(severity, likelihood) for severity in SEVERITIES for likelihood in LIKELIHOODS)
    assert counts == {"intolerable": 6, "tolerable": 12, "acceptable": 7}


def test_less_severe_or_less_likely_is_never_worse() -> None:
    order = ["acceptable", "tolerable", "intolerable"]
    for likelihood in range(1, 6):
        row = [order.index(region(severity, likelihood)) for severity in "ABCDE"]
        assert row == sorted(row, reverse=True)
    for severity in "ABCDE":
        column = [order.index(region(severity, likelihood)) for likelihood in range(1, 6)]
        assert column == sorted(column)


@pytest.mark.parametrize(("severity", "likelihood"), [("F", 3), ("a", 3), ("", 3), ("A", 0), ("A", 6), ("AA", 5)])
def test_outside_the_scales_there_is_no_region(severity: str, likelihood: int) -> None:
    with pytest.raises(ValueError, match="severity is A to E, likelihood is 1 to 5"):
        region(severity, likelihood)


def test_a_club_can_bring_its_own_matrix() -> None:
    strict = RiskMatrix(intolerable=frozenset({"1A"}), tolerable=frozenset({"1B"}))
    assert region("A", 1, strict) == "intolerable"
    assert region("B", 1, strict) == "tolerable"
    assert region("C", 1, strict) == "acceptable"


@pytest.mark.parametrize(
    ("intolerable", "tolerable", "named"), [({"5A"}, {"5A"}, "5A"), ({"A5"}, set(), "A5"), (set(), {"6B"}, "6B")]
)
def test_a_matrix_that_is_no_partition_is_refused(intolerable: set[str], tolerable: set[str], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        RiskMatrix(intolerable=frozenset(intolerable), tolerable=frozenset(tolerable))
