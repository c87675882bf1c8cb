"""Scheduled jobs of the register. Thin: one service call each, safe to run twice."""

from celery import shared_task
from django.utils import timezone

from fleet.services import access, mail, upkeep


@shared_task
def reassess_due() -> int:
    """Judge anew what time has changed."""
    return upkeep.reassess_due(timezone.now())


@shared_task
def self_check() -> int:
    """Compare every stored verdict with the recomputed one."""
    return upkeep.reassess_everything(timezone.now())


@shared_task
def flag_lapsed_dailies() -> int:
    """Flag daily inspections that ran out with their day."""
    return upkeep.flag_lapsed_dailies(timezone.now())


@shared_task
def forget_old_keys() -> int:
    """Drop kept answers whose Idempotency-Key has expired."""
    return access.forget_old_keys(timezone.now())


@shared_task
def send_notifications() -> int:
    """Send notifications by e-mail."""
    return mail.send_notifications(timezone.now())
