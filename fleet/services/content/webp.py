"""Size and animation of a WebP, from its header (RFC 9649, section 2), before a decoder takes memory for it."""

from fleet.services.content.accepted import refused

FIRST_CHUNK = 12  # after "RIFF", the size and "WEBP"
PAYLOAD = 20  # after the name and the size of the first chunk
HEADER = 30
ANIMATED = 0x02
KEY_FRAME = b"\x9d\x01\x2a"
LOSSLESS = 0x2F


def header_of(data: bytes) -> tuple[int, int, bool]:
    """Width and height in pixels, and whether it is animated. Raises Invalid."""
    chunk, payload = data[FIRST_CHUNK : FIRST_CHUNK + 4], data[PAYLOAD:HEADER]
    if len(payload) < HEADER - PAYLOAD:
        raise _unreadable()
    if chunk == b"VP8X":
        return 1 + _number(payload[4:7]), 1 + _number(payload[7:10]), bool(payload[0] & ANIMATED)
    if chunk == b"VP8L" and payload[0] == LOSSLESS:
        packed = _number(payload[1:5])
        return 1 + (packed & 0x3FFF), 1 + (packed >> 14 & 0x3FFF), False
    if chunk == b"VP8 " and payload[3:6] == KEY_FRAME:
        return _number(payload[6:8]) & 0x3FFF, _number(payload[8:10]) & 0x3FFF, False
    raise _unreadable()


def _number(data: bytes) -> int:
    return int.from_bytes(data, "little")


def _unreadable() -> Exception:
    return refused("unreadable", "The picture is damaged or not complete. Open it, save it anew and send that.")
