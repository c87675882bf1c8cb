"""Which kind a file is of, by its first bytes; what it says of itself must agree."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import PurePath

from fleet.services.content import images, pdfs
from fleet.services.content.accepted import Content, FileTooLarge, UnsupportedFile, refused

ACCEPTED = "Send a photo as JPEG, PNG or WebP, or a paper as PDF."


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One accepted kind of file."""

    title: str
    content_type: str
    suffixes: tuple[str, ...]
    recognise: Callable[[bytes], bool]
    admit: Callable[[bytes], Content]


KINDS = (
    Kind(
        title="JPEG",
        content_type="image/jpeg",
        suffixes=(".jpg", ".jpeg", ".jpe", ".jfif"),
        recognise=lambda data: data.startswith(b"\xff\xd8\xff"),
        admit=images.admit_jpeg,
    ),
    Kind(
        title="PNG",
        content_type="image/png",
        suffixes=(".png",),
        recognise=lambda data: data.startswith(b"\x89PNG\r\n\x1a\n"),
        admit=images.admit_png,
    ),
    Kind(
        title="WebP",
        content_type="image/webp",
        suffixes=(".webp",),
        recognise=lambda data: data[:4] == b"RIFF" and data[8:12] == b"WEBP",
        admit=images.admit_webp,
    ),
    Kind(
        title="PDF",
        content_type="application/pdf",
        suffixes=(".pdf",),
        recognise=lambda data: data.startswith(b"%PDF-"),
        admit=pdfs.admit,
    ),
)
UNTOLD = frozenset({"", "application/octet-stream"})  # content types that claim nothing
SYNONYMS: Mapping[str, str] = {"image/jpg": "image/jpeg", "image/pjpeg": "image/jpeg"}


def admit(data: bytes, *, name: str, declared: str, at_most: int) -> Content:
    """The content to keep. ``declared``: content type that came with it; ``at_most``: bytes.

    Raises FileTooLarge, UnsupportedFile, Invalid.
    """
    if len(data) > at_most:
        raise FileTooLarge("file_too_large", f"The file has {len(data)} bytes; at most {at_most} are accepted.")
    kind = next((one for one in KINDS if one.recognise(data)), None)
    if kind is None:
        raise UnsupportedFile("unsupported_file", f"By its content this is none of the accepted kinds. {ACCEPTED}")
    _check_claims(kind, name, declared)
    return kind.admit(data)


def _check_claims(kind: Kind, name: str, declared: str) -> None:
    claimed = declared.partition(";")[0].strip().lower()
    if claimed not in UNTOLD and SYNONYMS.get(claimed, claimed) != kind.content_type:
        raise refused(
            "type_mismatch", f"It was sent as {claimed}, but its content is {kind.title}. Send it as what it is."
        )
    suffix = PurePath(name).suffix.lower()
    if suffix and suffix not in kind.suffixes:
        raise refused("name_mismatch", f"Its name ends in {suffix}, but its content is {kind.title}. Rename it.")
