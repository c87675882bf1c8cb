"""E-mail for notifications: drained from the rows after commit, one message a recipient."""

import logging
from collections.abc import Sequence
from datetime import datetime
from itertools import groupby

from django.core.mail import send_mail

from fleet.models import Notification
from fleet.services.upkeep import alone

log = logging.getLogger(__name__)

CLOSING = (
    "This message is a reminder from the records. It does not replace the aircraft's records,"
    " the manufacturer's manuals or the judgement of licensed persons."
)


def _send(rows: Sequence[Notification]) -> None:
    recipient = rows[0].recipient
    lines = [f"- {row.message}" for row in rows]
    body = "\n".join([f"{recipient.person.full_name},", "", *lines, "", CLOSING])
    subject = f"{recipient.club.name}: {len(rows)} notice{'s' if len(rows) > 1 else ''}"
    send_mail(subject, body, None, [recipient.person.email])


def send_notifications(at: datetime) -> int:
    """Send what has not been sent; a recipient whose mail fails stays unsent and is tried again. At least once each."""
    with alone("send_notifications") as mine:
        if not mine:
            return 0
        unsent = (
            Notification.objects.filter(emailed_at=None, recipient__active=True)
            .exclude(recipient__person__email="")
            .select_related("recipient__person", "recipient__club")
            .order_by("recipient_id", "created_at", "id")
        )
        return sum(_deliver(list(rows), at) for _, rows in groupby(unsent, key=lambda row: row.recipient_id))


def _deliver(rows: Sequence[Notification], at: datetime) -> int:
    try:
        _send(rows)
    except Exception:  # of the mail server, or of an address that makes no header: the others get theirs
        log.exception(
            "a notification could not be sent",
            extra={"recipient": str(rows[0].recipient_id)},
        )
        return 0
    return Notification.objects.filter(id__in=[row.id for row in rows]).update(emailed_at=at)
