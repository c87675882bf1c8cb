"""The typesetter's own process: JSON in, PDF out (``python typesetting.py template.typ``).

It keeps what it has set in memory, and nothing bounds how long it works on a page; so it never runs inside a server. What
it cannot show it refuses, so such characters are spelt out.
"""

import json
import sys
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import typst

# What the typesetter's own faces show (it refuses to print the rest): Latin, Greek, Cyrillic, punctuation, currencies,
# arrows, mathematics.
FACES = (
    *((0x20, 0x7E), (0xA0, 0x24F), (0x370, 0x3FF), (0x400, 0x482), (0x48A, 0x4FF)),
    *((0x2010, 0x2027), (0x2030, 0x203A), (0x20A0, 0x20BF), (0x2190, 0x22FF)),
)
LINE_BREAK = "\n"


def is_visible(character: str) -> bool:
    """Not a control, which could turn the direction of what follows, and of no private meaning."""
    return character == LINE_BREAK or unicodedata.category(character)[0] != "C"


def has_face(character: str) -> bool:
    """Whether it can be printed for sure."""
    inside = any(first <= ord(character) <= last for first, last in FACES)
    return is_visible(character) and (inside or character == LINE_BREAK)


def spelt_out(value: Any, keep: Callable[[str], bool]) -> Any:
    """Texts of JSON data with other characters as code points: nothing is lost, and nothing refused."""
    match value:
        case str():
            composed = unicodedata.normalize("NFC", value)
            return "".join(one if keep(one) else f"[U+{ord(one):04X}]" for one in composed)
        case list():
            return [spelt_out(one, keep) for one in value]
        case dict():
            return {name: spelt_out(one, keep) for name, one in value.items()}
        case _:
            return value


def compiled(template: Path, data: object) -> bytes:
    """Tagged PDF (PDF/UA-1). Raises typst.TypstError, also for a character that has no face."""
    return typst.compile(
        template,
        root=template.parent,
        format="pdf",
        pdf_standards="ua-1",
        ignore_system_fonts=True,  # the same print everywhere
        sys_inputs={"data": json.dumps(data)},
    )


def typeset(template: Path, data: object) -> bytes:
    """The same for any data. Characters of scripts without a face are spelt out as code points if there are any."""
    try:
        return compiled(template, spelt_out(data, is_visible))
    except typst.TypstError:
        return compiled(template, spelt_out(data, has_face))


if __name__ == "__main__":
    sys.stdout.buffer.write(typeset(Path(sys.argv[1]), json.load(sys.stdin.buffer)))
