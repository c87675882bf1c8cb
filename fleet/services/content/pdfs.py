"""Papers: a structural check that a PDF is whole and does nothing by itself. Names are those of ISO 32000."""

import re
import zlib
from collections.abc import Iterator

from fleet.services.content.accepted import Content, refused

HEAD = re.compile(rb"%PDF-[12]\.[0-9][\r\n ]")
ESCAPED = re.compile(rb"#([0-9A-Fa-f]{2})")  # a character of a name by its code
ACTIVE = re.compile(
    rb"/(JavaScript|Launch|EmbeddedFiles?|OpenAction|RichMedia|SubmitForm|ImportData|GoToE|XFA|Encrypt)(?![A-Za-z0-9])"
)
PACKED = re.compile(rb"/ObjStm(?![A-Za-z0-9])")
STREAM = re.compile(rb"stream\r?\n")
END = b"%%EOF"
BLANKS = b"\r\n\t \0"
END_OF_ZIP = b"PK\x05\x06"
LONGEST_ZIP_END = 66_000  # bytes: the record that makes a file a ZIP archive lies no further from its end
REACH = 4096  # bytes between the type of a stream and its data
MOST_UNPACKED = 32_000_000  # bytes of all packed objects together


def admit(data: bytes) -> Content:
    """A PDF, kept as it is. Raises Invalid."""
    if not HEAD.match(data) or not data.rstrip(BLANKS).endswith(END):
        raise refused("unreadable", "This PDF is damaged, not complete, or followed by something else. Save it anew.")
    if END_OF_ZIP in data[-LONGEST_ZIP_END:]:
        raise refused("two_files", "This is a PDF and an archive in one. Send a plain PDF.")
    for part in (data, *_unpacked(data)):
        _check_passive(part)
    return Content(data=data, content_type="application/pdf")


def _plain(data: bytes) -> bytes:
    return ESCAPED.sub(lambda match: bytes([int(match[1], 16)]), data)


def _check_passive(data: bytes) -> None:
    found = ACTIVE.search(_plain(data))
    if found:
        name = found[1].decode()
        raise refused("active_content", f"This PDF contains /{name}. Print it into a new PDF and send that.")


def _unpacked(data: bytes) -> Iterator[bytes]:
    """The content of every object stream, where names could hide."""
    packed = list(PACKED.finditer(data))
    if len(packed) != len(PACKED.findall(_plain(data))):
        raise _not_read()
    room = MOST_UNPACKED
    for match in packed:
        begin = STREAM.search(data, match.end(), match.end() + REACH)
        if begin is None:
            raise _not_read()
        unpacked = _inflated(data[begin.end() :], room)
        room -= len(unpacked)
        yield unpacked


def _inflated(data: bytes, at_most: int) -> bytes:
    unpacking = zlib.decompressobj()
    try:
        unpacked = unpacking.decompress(data, at_most)
    except zlib.error:
        raise _not_read() from None
    if not unpacking.eof:
        raise _not_read()
    return unpacked


def _not_read() -> Exception:
    return refused(
        "packed", "This PDF is packed in a way that is not read here. Print it into a new PDF and send that."
    )
