"""Addresses of inspections."""

from rest_framework.views import APIView

from inspections.api import happenings, inspections

ENDPOINTS: tuple[tuple[str, type[APIView]], ...] = (
    ("inspections", inspections.InspectionsView),
    ("inspections/<uuid:pk>", inspections.InspectionView),
    ("occurrences", happenings.OccurrencesView),
    ("occurrences/<uuid:pk>", happenings.OccurrenceView),
    ("rigging-events", happenings.RiggingEventsView),
    ("rigging-events/<uuid:pk>", happenings.RiggingEventView),
)
