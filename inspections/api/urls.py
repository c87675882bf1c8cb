"""Addresses of inspections."""

from rest_framework.views import APIView

from inspections.api import (
    attachments,
    compliances,
    directives,
    due_items,
    forecasts,
    happenings,
    history,
    inspections,
    review,
    sheets,
    tasks,
)

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
    ("tasks", tasks.TasksView),
    ("tasks/<uuid:pk>", tasks.TaskView),
    ("compliances", compliances.CompliancesView),
    ("compliances/<uuid:pk>", compliances.ComplianceView),
    ("due-items", due_items.DueItemsView),
    ("due-items/<uuid:pk>", due_items.DueItemView),
    ("due-items/<uuid:pk>/forecast", forecasts.ForecastView),
    ("aircraft/<uuid:pk>/flight-check", due_items.FlightCheckView),
    ("workload", due_items.WorkloadView),
    ("aircraft/<uuid:pk>/review-pack", review.ReviewPackView),
    ("aircraft/<uuid:pk>/review-pack.pdf", review.ReviewPackPdfView),
    ("directives", directives.DirectivesView),
    ("directives/<uuid:pk>", directives.DirectiveView),
    ("directive-assessments", directives.AssessmentsView),
    ("directive-assessments/<uuid:pk>", directives.AssessmentView),
    ("attachments", attachments.AttachmentsView),
    ("attachments/<uuid:pk>", attachments.AttachmentView),
    ("attachments/<uuid:pk>/content", attachments.AttachmentContentView),
)
