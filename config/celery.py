"""The Celery application and, on one screen, everything that runs by the clock."""

import os

from celery import Celery
from django_structlog.celery.steps import DjangoStructLogInitStep

from config.embedded.beat import EmbeddedBeat

MINUTE = 60.0
HOUR = 60 * MINUTE
DAY = 24 * HOUR

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
app = Celery("witnessmark")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.steps["worker"].add(DjangoStructLogInitStep)
app.steps["worker"].add(EmbeddedBeat)


def every(seconds: float, task: str) -> dict[str, object]:
    """A message that nobody took before the next one is due is dropped: sweeps make up for what was missed."""
    return {"task": task, "schedule": seconds, "options": {"expires": seconds}}


app.conf.beat_schedule = {
    "reassess": every(1 * MINUTE, "fleet.tasks.reassess_due"),
    "expire-deferrals": every(1 * MINUTE, "defects.tasks.expire_deferrals"),
    "notifications": every(1 * MINUTE, "fleet.tasks.send_notifications"),
    "flag-dailies": every(10 * MINUTE, "fleet.tasks.flag_lapsed_dailies"),
    "flag-deferrals": every(1 * HOUR, "defects.tasks.flag_deferrals"),
    "flag-reports": every(10 * MINUTE, "defects.tasks.flag_reports"),
    "flag-occurrences": every(10 * MINUTE, "inspections.tasks.flag_occurrences"),
    "self-check": every(1 * HOUR, "fleet.tasks.self_check"),
    "forget-old-keys": every(1 * DAY, "fleet.tasks.forget_old_keys"),
}
