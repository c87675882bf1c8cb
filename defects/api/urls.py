"""Addresses of defects."""

from rest_framework.views import APIView

from defects.api import acts, defects

ENDPOINTS: tuple[tuple[str, type[APIView]], ...] = (
    ("defects", defects.DefectsView),
    ("defects/<uuid:pk>", defects.DefectView),
    ("defects/<uuid:pk>/triage", acts.TriageView),
    ("defects/<uuid:pk>/defer", acts.DeferView),
    ("defects/<uuid:pk>/withdraw-deferral", acts.WithdrawDeferralView),
    ("defects/<uuid:pk>/rectify", acts.RectifyView),
    ("defects/<uuid:pk>/independent-inspection", acts.IndependentInspectionView),
    ("defects/<uuid:pk>/release", acts.ReleaseView),
)
