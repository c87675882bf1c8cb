"""Instants and the password of everybody. They lie before the real clock, so that API tests may follow them."""

from datetime import UTC, date, datetime

FOUNDED = datetime(2025, 1, 2, 8, 0, tzinfo=UTC)
NOW = datetime(2025, 5, 14, 9, 0, tzinfo=UTC)  # 11:00 of a flying day in the club's zone
VALID_FROM = date(2020, 1, 1)
VALID_UNTIL = date(2090, 12, 31)
PASSWORD = "the wind sock points east"
