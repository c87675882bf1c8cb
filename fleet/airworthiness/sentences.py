"""How reasons name things: for a pilot at the launch point, not for a program."""

from fleet.airworthiness.facts import DefectFact
from fleet.airworthiness.rule import Subject


def named(defect: DefectFact) -> str:
    """The defect by its number on the aircraft and what was reported, on one line."""
    return f"Defect {defect.number} ({one_line(defect.description)})"


def about(defect: DefectFact) -> Subject:
    """The defect as subject of a reason."""
    return "defect", defect.id


def one_line(text: str) -> str:
    """The text without line breaks and repeated spaces."""
    return " ".join(text.split())


def words(code: str) -> str:
    """A code as words: ``heavy_landing`` -> ``heavy landing``."""
    return code.replace("_", " ")


def capitalised(text: str) -> str:
    """The text with a capital first letter, the rest untouched."""
    return text[:1].upper() + text[1:]


def hours(minutes: int) -> str:
    """Whole minutes as hours and minutes: 4210 -> ``70:10 h``."""
    return f"{minutes // 60}:{minutes % 60:02d} h"


def days(count: int) -> str:
    """``1 day``, ``3 days``."""
    return f"{count} day" if count == 1 else f"{count} days"
