"""Photos and papers on defects and inspections."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from defects.models import Defect, DefectAttachment
from fleet import assessment
from fleet.airworthiness.verdict import Verdict
from fleet.errors import FieldError, NotFound
from fleet.models import Attachment, Membership
from fleet.permissions import MEMBERS_WHO_WRITE, require_role
from fleet.services import attachments
from fleet.services.content import Content
from inspections.models import Inspection, InspectionAttachment

Subject = Defect | Inspection


def _not_found(name: str) -> NotFound:
    detail = f"Your club has no {name} with this id. Check the id."
    return NotFound(f"{name}_not_found", detail, (FieldError(f"/{name}", "not_found", detail),))


def _subject(club_id: UUID, defect_id: UUID | None, inspection_id: UUID | None) -> tuple[str, Subject]:
    if defect_id is not None:
        defect = Defect.objects.filter(id=defect_id, aircraft__club_id=club_id).first()
        if defect is None:
            raise _not_found("defect")
        return "defect", defect
    if inspection_id is None:
        raise ValueError("name a defect or an inspection")
    inspection = Inspection.objects.filter(id=inspection_id, aircraft__club_id=club_id).first()
    if inspection is None:
        raise _not_found("inspection")
    return "inspection", inspection


@transaction.atomic
def attach(
    *,
    content: Content,
    by: Membership,
    at: datetime,
    caption: str = "",
    defect_id: UUID | None = None,
    inspection_id: UUID | None = None,
    attachment_id: UUID | None = None,
) -> tuple[Attachment, Verdict]:
    """Attach verified content to a defect or to an inspection. It changes no status. Raises NotFound, Forbidden.

    If the transaction is undone after this returns, ``discard`` the file.
    """
    require_role(by, MEMBERS_WHO_WRITE, "attach photos and papers")
    name, subject = _subject(by.club_id, defect_id, inspection_id)
    aircraft = assessment.lock(subject.aircraft_id, club_id=by.club_id, at=at)
    attachment, entry = attachments.keep(
        content,
        aircraft=aircraft,
        by=by,
        at=at,
        caption=caption,
        to={"to": name, name: subject.id},
        attachment_id=attachment_id,
    )
    with attachments.removed_on_failure(attachment):
        _link(subject, attachment)
        return attachment, assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]


def _link(subject: Subject, attachment: Attachment) -> None:
    if isinstance(subject, Defect):
        DefectAttachment.objects.create(defect=subject, attachment=attachment)
    else:
        InspectionAttachment.objects.create(inspection=subject, attachment=attachment)
