"""Scheduled jobs of defects. Thin: one service call each, safe to run twice."""

from celery import shared_task
from django.utils import timezone

from defects.services import upkeep


@shared_task
def expire_deferrals() -> int:
    """End deferrals whose limit has passed."""
    return upkeep.expire_deferrals(timezone.now())


@shared_task
def flag_deferrals() -> int:
    """Flag deferrals that end soon."""
    return upkeep.flag_deferrals(timezone.now())


@shared_task
def flag_reports() -> int:
    """Flag deadlines of occurrence reports for defects."""
    return upkeep.flag_reports(timezone.now())
