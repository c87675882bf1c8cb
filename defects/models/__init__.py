"""Models of defects."""

from defects.models.acts import (
    Deferral,
    DeferralEnd,
    IndependentInspection,
    Rectification,
    Release,
    Triage,
)
from defects.models.defect import (
    AssessmentCode,
    DamageKind,
    Defect,
    DefectAttachment,
    FoundDuring,
)

__all__ = [
    "AssessmentCode",
    "DamageKind",
    "Defect",
    "DefectAttachment",
    "Deferral",
    "DeferralEnd",
    "FoundDuring",
    "IndependentInspection",
    "Rectification",
    "Release",
    "Triage",
]
