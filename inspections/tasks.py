"""Scheduled jobs of inspections. Thin: one service call each, safe to run twice."""

from celery import shared_task
from django.utils import timezone

from inspections.services import sweep, upkeep


@shared_task
def sweep_due_items() -> int:
    """Bring the states of due items up to date."""
    return sweep.sweep_and_judge(timezone.now())


@shared_task
def flag_occurrences() -> int:
    """Flag deadlines of occurrence reports."""
    return upkeep.flag_occurrences(timezone.now())
