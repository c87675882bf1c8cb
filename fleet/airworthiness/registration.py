"""Registration marks of aircraft: the syntax of ICAO Annex 7, and the United States rule.

The nationality marks, the groups that are not used, and 14 CFR 47.15 are from memory; the hyphen rule was read.
"""

import re

# Known nationality marks, to tell where the registration mark begins when there is no hyphen. A hyphenated mark may
# have any nationality mark of the right form: the list is not complete, and a typing error is for people to find.
# Guernsey's "2" is left out: letters always follow it, so its marks always have the hyphen.
# fmt: off
NATIONALITY_MARKS = frozenset({
    "4X", "5B", "9A", "9H", "B", "C", "CS", "D", "EC", "EI", "ES", "F", "G", "HA", "HB", "HL", "I", "JA",
    "LN", "LV", "LX", "LY", "LZ", "M", "N", "OE", "OH", "OK", "OM", "OO", "OY", "PH", "PP", "PR", "PS", "PT",
    "PU", "S5", "SE", "SP", "SX", "TC", "TF", "UR", "VH", "VT", "XA", "XB", "XC", "YL", "YR", "YU", "ZJ", "ZK",
    "ZS",
})
# fmt: on
FORBIDDEN_GROUPS = frozenset({"SOS", "XXX", "PAN", "TTT"})  # distress and urgency signals
MOST_CHARACTERS = 7  # without the hyphen: what the flight plan form holds (ICAO Doc 4444, item 7, from memory)

_WRITTEN = re.compile(r"[A-Z0-9]+(-[A-Z0-9]+)?")
_NATIONALITY = re.compile(r"[A-Z]{1,2}|[A-Z][0-9]|[0-9][A-Z]{1,2}|2")
_LEADING_LETTERS = re.compile(r"[A-Z]{1,2}(?=[0-9])")
_Q_GROUP = re.compile(r"Q[A-Z]{2}")
_UNITED_STATES = re.compile(r"[1-9]([0-9]{0,4}|[0-9]{0,3}[A-HJ-NP-Z]|[0-9]{0,2}[A-HJ-NP-Z]{2})")


def validate(mark: str) -> list[str]:
    """What is wrong with a mark, each with what to do; empty if it is well-formed."""
    if not _WRITTEN.fullmatch(mark):
        return ["Write the mark in capital letters and digits, with at most one hyphen inside."]
    if len(mark.replace("-", "")) > MOST_CHARACTERS:
        return [f"Use at most {MOST_CHARACTERS} letters and digits."]
    if "-" in mark:
        nationality, _, registration = mark.partition("-")
        return _problems(nationality, registration, hyphen=True)
    nationality, registration = _split(mark)
    return _problems(nationality, registration, hyphen=False)


def _split(mark: str) -> tuple[str, str]:
    """Nationality and registration mark of a mark without hyphen."""
    for length in (2, 1):
        if mark[:length] in NATIONALITY_MARKS and len(mark) > length:
            return mark[:length], mark[length:]
    leading = _LEADING_LETTERS.match(mark)
    return (leading.group(), mark[leading.end() :]) if leading else ("", mark)


def _problems(nationality: str, registration: str, *, hyphen: bool) -> list[str]:
    if nationality == "N":
        return _united_states(registration, hyphen=hyphen)
    if not _NATIONALITY.fullmatch(nationality):
        return ["Begin with the nationality mark of the state, then a hyphen, then the registration mark."]
    problems = []
    if not hyphen and registration[0].isalpha():
        problems.append(f"Put a hyphen before the letter: {nationality}-{registration}.")
    if registration in FORBIDDEN_GROUPS or _Q_GROUP.fullmatch(registration):
        problems.append(f"{registration} is a signal or a Q code and is not used as a registration mark: correct it.")
    return problems


def _united_states(registration: str, *, hyphen: bool) -> list[str]:
    problems = ["Leave the hyphen out after N."] if hyphen else []
    if not _UNITED_STATES.fullmatch(registration):
        problems.append(
            "After N use 1 to 5 digits, the first not 0, of which the last one or two may be letters, but not I or O."
        )
    return problems
