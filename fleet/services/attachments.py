"""Keeping attachments: the row says what the file is, the file lies outside the web root, and neither ever changes."""

import logging
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage

from fleet.errors import NotFound
from fleet.events import Entry
from fleet.models import Aircraft, Attachment, Membership
from fleet.services.content import Content

log = logging.getLogger(__name__)


def name_of(attachment: Attachment) -> str:
    """Where its content lies in the storage."""
    return f"{attachment.club_id}/{attachment.id}"


@contextmanager
def removed_on_failure(attachment: Attachment) -> Iterator[None]:
    """Whatever fails inside takes the file with it, as the transaction takes the row."""
    try:
        yield
    except BaseException:
        discard(attachment)
        raise


def keep(
    content: Content,
    *,
    aircraft: Aircraft,
    by: Membership,
    at: datetime,
    caption: str,
    to: Mapping[str, Any],
    attachment_id: UUID | None = None,
) -> tuple[Attachment, Entry]:
    """Store row and file of a locked aircraft; the caller links, records and concludes.

    The row comes first, so that its key guards the file's name; the file is on the disk before the row is committed.
    ``to`` says in the record what it is attached to. If the transaction is undone later, ``discard`` the file.
    """
    attachment = Attachment.objects.create(
        id=attachment_id or uuid4(),
        club_id=aircraft.club_id,
        aircraft=aircraft,
        content_type=content.content_type,
        size_bytes=len(content.data),
        width=content.width,
        height=content.height,
        sha256=content.digest,
        caption=caption,
        uploaded_by=by,
        uploaded_at=at,
    )
    with removed_on_failure(attachment):
        _write(name_of(attachment), content.data)
    told = ("content_type", "size_bytes", "sha256", "caption")
    data = {**to, **{name: getattr(attachment, name) for name in told}}
    entry = Entry(kind="attachment_add", at=at, by=by, subject_type="attachment", subject_id=attachment.id, data=data)
    return attachment, entry


def _write(name: str, data: bytes) -> None:
    default_storage.delete(name)  # left by an attempt that was undone; no row names it, for the key was free
    default_storage.save(name, ContentFile(data))
    path = Path(default_storage.path(name))
    for part in (path, path.parent):
        _flush(part)


def _flush(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def discard(attachment: Attachment) -> None:
    """Remove the file of an attachment whose transaction was undone."""
    default_storage.delete(name_of(attachment))


def open_content(attachment: Attachment) -> "File[bytes]":
    """The stored bytes, to be read in pieces. Raises NotFound if they were lost."""
    try:
        return default_storage.open(name_of(attachment), "rb")
    except FileNotFoundError as error:
        log.exception("the content of an attachment is gone", extra={"attachment": str(attachment.id)})
        detail = "The content of this attachment was lost. Tell the club administrator: it has to come from a backup."
        raise NotFound("content_lost", detail) from error
