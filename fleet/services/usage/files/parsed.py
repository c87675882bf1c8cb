"""What reading a file gives, of whichever format."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from fleet.services.usage.lines import Line

QUOTED_AT_MOST = 40


class FileFormat(StrEnum):
    """What can be read."""

    CSV = "csv"
    IGC = "igc"


class LaunchKind(StrEnum):
    """How a flight began; a flight recorder does not know it."""

    WINCH = "winch"
    AEROTOW = "aerotow"
    SELF = "self"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Note:
    """Something about a line of a file: ``detail`` is a sentence, and never begins with what stood in the file."""

    line: int
    code: str
    detail: str


class Broken(Exception):
    """The file cannot be read past this line."""

    def __init__(self, line: int, code: str, detail: str) -> None:
        super().__init__(detail)
        self.note = Note(line, code, detail)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parsed:
    """Lines that could be read, and what is to be said about the others."""

    lines: tuple[Line, ...] = ()
    rejected: tuple[Note, ...] = ()
    warnings: tuple[Note, ...] = ()

    def named(self, digest: str) -> "Parsed":
        """With each line's reference: the content of the file and the place in it, so that it is known again."""
        return replace(self, lines=tuple(replace(one, reference=f"{digest}:{one.place}") for one in self.lines))


def quoted(text: str) -> str:
    """What stood in a file, on one line and not too long."""
    shown = " ".join("".join(character if character.isprintable() else " " for character in text).split())
    return repr(shown if len(shown) <= QUOTED_AT_MOST else f"{shown[:QUOTED_AT_MOST]}...")


def marks_match(one: str, other: str) -> bool:
    """Whether two registrations are the same but for spelling."""
    plain = [re.sub(r"[^A-Z0-9]", "", mark.upper()) for mark in (one, other)]
    return plain[0] == plain[1]


def broken(error: Broken, warnings: Sequence[Note] = ()) -> Parsed:
    """Nothing of a file that cannot be read counts."""
    return Parsed(rejected=(error.note,), warnings=tuple(warnings))
