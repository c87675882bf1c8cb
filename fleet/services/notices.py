"""What a member does with notifications."""

from datetime import datetime
from uuid import UUID

from fleet.errors import NotFound
from fleet.models import Membership, Notification
from fleet.selectors import notifications_for


def mark_read(*, notification_id: UUID, by: Membership, at: datetime) -> Notification:
    """Note that the member has read it. Once read it stays read, since the first time. Raises NotFound."""
    unread = notifications_for(by).filter(id=notification_id, read_at=None)
    unread.update(read_at=at)  # one statement, so that of two at once the first counts
    found = notifications_for(by).filter(id=notification_id).first()
    if found is None:
        raise NotFound("not_found", "You have no notification with this id.")
    return found
