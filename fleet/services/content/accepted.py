"""What comes out of the check, and the refusals that have a status of their own."""

from dataclasses import dataclass
from hashlib import sha256

from fleet.errors import FieldError, Invalid

POINTER = "/file"


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Bytes that are safe to keep. ``width`` and ``height`` in pixels; None for a paper."""

    data: bytes
    content_type: str
    width: int | None = None
    height: int | None = None

    @property
    def digest(self) -> str:
        """SHA-256 in hexadecimal."""
        return sha256(self.data).hexdigest()


class UnsupportedFile(Invalid):
    """It is of a kind that is not accepted."""


class FileTooLarge(Invalid):
    """It has more bytes than are accepted."""


def refused(code: str, detail: str) -> Invalid:
    """A file of an accepted kind that is not acceptable."""
    return Invalid("invalid", detail, (FieldError(POINTER, code, detail),))
