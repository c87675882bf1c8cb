"""Addresses of inspections."""

from rest_framework.views import APIView

from inspections.api import attachments, happenings, history, inspections, sheets

ENDPOINTS: tuple[tuple[str, type[APIView]], ...] = (
    ("inspections", inspections.InspectionsView),
    ("inspections/<uuid:pk>", inspections.InspectionView),
    ("occurrences", happenings.OccurrencesView),
    ("occurrences/<uuid:pk>", happenings.OccurrenceView),
    ("rigging-events", happenings.RiggingEventsView),
    ("rigging-events/<uuid:pk>", happenings.RiggingEventView),
    ("aircraft/<uuid:pk>/history", history.HistoryView),
    ("aircraft-types/<uuid:type_id>/sheets", sheets.SheetsView),
    ("aircraft-types/<uuid:type_id>/sheets/<uuid:pk>", sheets.SheetView),
    ("attachments", attachments.AttachmentsView),
    ("attachments/<uuid:pk>", attachments.AttachmentView),
    ("attachments/<uuid:pk>/content", attachments.AttachmentContentView),
)
