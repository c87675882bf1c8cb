"""The airworthiness review certificate: what an extension or a review makes of its expiry.

The date printed on the certificate is what counts and is stored; this is what to expect on it.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from fleet.airworthiness.due.civil_months import add_months


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewRule:
    """A rule profile."""

    valid_months: int
    review_ahead_days: int  # so early a review keeps the date of the year
    extension_ahead_days: int
    most_extensions: int  # one after the other


PART_ML = ReviewRule(  # ML.A.901(a), (c), (d); ML.A.903(d)
    valid_months=12, review_ahead_days=90, extension_ahead_days=30, most_extensions=2
)


def review_window_opens_on(expires_on: date, rule: ReviewRule = PART_ML) -> date:
    """First day on which a review keeps the date of the year."""
    return expires_on - timedelta(days=rule.review_ahead_days)


def extension_window_opens_on(expires_on: date, rule: ReviewRule = PART_ML) -> date:
    """First day on which an extension keeps the date of the year."""
    return expires_on - timedelta(days=rule.extension_ahead_days)


def reviewed_expiry(expires_on: date | None, begun_on: date, issued_on: date, rule: ReviewRule = PART_ML) -> date:
    """Expiry after a review: a year after the last one if the whole review lies in the window, else after the issue.

    ``begun_on`` is the earlier of the review of documents and the survey of the aircraft; ``expires_on`` is None for
    the first certificate. Raises ValueError if it was issued before the review began. ML.A.903(d).
    """
    if issued_on < begun_on:
        raise ValueError("The certificate cannot be issued before its review: correct the dates.")
    in_window = (
        expires_on is not None and review_window_opens_on(expires_on, rule) <= begun_on <= issued_on <= expires_on
    )
    return add_months(expires_on if expires_on is not None and in_window else issued_on, rule.valid_months)


def why_not_extend(expires_on: date, extended_on: date, extensions: int, rule: ReviewRule = PART_ML) -> str | None:
    """Why a certificate that was extended ``extensions`` times since its last review cannot be extended again."""
    if extensions >= rule.most_extensions:
        return f"It has been extended {extensions} times since its last review: have a review made. ML.A.901(c)."
    if extended_on > expires_on:
        # no text read says what becomes of it: refused to be safe
        return "It has expired, and only a valid certificate is extended: have a review made."
    return None


def extended_expiry(expires_on: date, extended_on: date, extensions: int, rule: ReviewRule = PART_ML) -> date:
    """Expiry after an extension: a year after the last one if made in the window, else after the extension.

    Raises ValueError with ``why_not_extend``. ML.A.901(c), (d).
    """
    if (refusal := why_not_extend(expires_on, extended_on, extensions, rule)) is not None:
        raise ValueError(refusal)
    in_window = extended_on >= extension_window_opens_on(expires_on, rule)
    return add_months(expires_on if in_window else extended_on, rule.valid_months)
