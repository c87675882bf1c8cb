"""The airworthiness review certificate."""

from dataclasses import replace
from datetime import date

import pytest

from fleet.airworthiness.due.certificate import (
    PART_ML,
    extended_expiry,
    extension_window_opens_on,
    review_window_opens_on,
    reviewed_expiry,
    why_not_extend,
)

EXPIRY = date(2026, 4, 30)


@pytest.mark.parametrize(
    ("extended_on", "expected"),
    [
        ("2026-03-31", "2027-04-30"),  # check value T22: ML.A.901(d), 30 days ahead
        ("2026-03-30", "2027-03-30"),  # check value T23, standards ML-901-2: ML.A.901(d), 31 days ahead
        ("2026-04-30", "2027-04-30"),
    ],
)
def test_an_extension_is_anticipated_by_up_to_30_days(extended_on: str, expected: str) -> None:
    assert extended_expiry(EXPIRY, date.fromisoformat(extended_on), 0) == date.fromisoformat(expected)


@pytest.mark.parametrize(
    ("begun_on", "issued_on", "expected"),
    [
        ("2026-01-30", "2026-01-30", "2027-04-30"),  # check value T24: ML.A.903(d), 90 days ahead
        ("2026-01-29", "2026-01-29", "2027-01-29"),  # check value T25, standards ML-903-1: ML.A.903(d), 91 days ahead
        ("2026-01-29", "2026-02-15", "2027-02-15"),  # both the documents and the survey must lie inside the window
        ("2026-04-30", "2026-04-30", "2027-04-30"),
        ("2026-04-20", "2026-05-02", "2027-05-02"),  # issued too late to keep the date
        ("2026-06-01", "2026-06-01", "2027-06-01"),
    ],
)
def test_a_review_is_anticipated_by_up_to_90_days(begun_on: str, issued_on: str, expected: str) -> None:
    expiry = reviewed_expiry(EXPIRY, date.fromisoformat(begun_on), date.fromisoformat(issued_on))
    assert expiry == date.fromisoformat(expected)


def test_the_first_certificate_counts_from_its_issue() -> None:
    assert reviewed_expiry(None, date(2026, 4, 1), date(2026, 4, 3)) == date(2027, 4, 3)


def test_a_certificate_is_not_issued_before_its_review() -> None:
    with pytest.raises(ValueError, match="before its review"):
        reviewed_expiry(EXPIRY, date(2026, 4, 2), date(2026, 4, 1))


def test_it_is_extended_twice_at_most() -> None:
    # Check value T26: ML.A.901(c), issued 2024, extended 2025 and 2026, a third extension is refused.
    expiry = date(2025, 4, 30)
    for extensions in (0, 1):
        assert why_not_extend(expiry, expiry, extensions) is None
        expiry = extended_expiry(expiry, expiry, extensions)
    assert expiry == date(2027, 4, 30)
    refusal = why_not_extend(expiry, expiry, 2)
    assert refusal == "It has been extended 2 times since its last review: have a review made. ML.A.901(c)."
    with pytest.raises(ValueError, match="extended 2 times"):
        extended_expiry(expiry, expiry, 2)
    assert why_not_extend(expiry, expiry, 2, replace(PART_ML, most_extensions=3)) is None


def test_an_expired_certificate_is_not_extended() -> None:
    # No text read says it may be: refused to be safe.
    with pytest.raises(ValueError, match="has expired"):
        extended_expiry(EXPIRY, date(2026, 5, 1), 0)


def test_the_windows_can_be_shown() -> None:
    assert extension_window_opens_on(EXPIRY) == date(2026, 3, 31)
    assert review_window_opens_on(EXPIRY) == date(2026, 1, 30)


def test_the_figures_are_a_profile() -> None:
    two_years = replace(PART_ML, valid_months=24, extension_ahead_days=31, review_ahead_days=91)
    assert extended_expiry(EXPIRY, date(2026, 3, 30), 0, two_years) == date(2028, 4, 30)
    assert reviewed_expiry(EXPIRY, date(2026, 1, 29), date(2026, 1, 29), two_years) == date(2028, 4, 30)
