"""The life of components: where each was and when, and what the aircraft flew meanwhile.

Nothing is carried from installation to installation by hand: the spans in aircraft follow from the installations (also of
the component that a component sits in), and the usage entries that fall into a span are summed. So a flight that is
entered late counts for whatever was installed when it was flown. What is not known is missing, and never counts as 0.
"""

from fleet.life.inside import home_of, homes_of, installed_in, missing_positions, touched_by
from fleet.life.meters import Amounts, Metered, added, metered, readings_at
from fleet.life.spans import Span, holders_of, spans_of
from fleet.life.totals import Life, lives_of, totals_of

__all__ = [
    "Amounts",
    "Life",
    "Metered",
    "Span",
    "added",
    "holders_of",
    "home_of",
    "homes_of",
    "installed_in",
    "lives_of",
    "metered",
    "missing_positions",
    "readings_at",
    "spans_of",
    "totals_of",
    "touched_by",
]
