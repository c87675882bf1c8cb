"""Scheduled jobs of inspections. Thin: one service call each, safe to run twice."""

from celery import shared_task
from django.utils import timezone

from inspections.services import upkeep


@shared_task
def flag_occurrences() -> int:
    """Flag deadlines of occurrence reports."""
    return upkeep.flag_occurrences(timezone.now())
