"""The Celery application and, on one screen, everything that runs by the clock."""

import os

from celery import Celery
from celery.signals import task_success
from django_structlog.celery.steps import DjangoStructLogInitStep

from config.embedded.beat import EmbeddedBeat
from config.job_runs import note_run

MINUTE = 60.0

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
app = Celery("witnessmark")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.steps["worker"].add(DjangoStructLogInitStep)
app.steps["worker"].add(EmbeddedBeat)
task_success.connect(note_run)


def every(seconds: float, task: str) -> dict[str, object]:
    """A message that nobody took before the next one is due is dropped: sweeps make up for what was missed."""
    return {"task": task, "schedule": seconds, "options": {"expires": seconds}}


app.conf.beat_schedule = {
    "reassess": every(1 * MINUTE, "fleet.tasks.reassess_due"),
    "deferrals": every(1 * MINUTE, "defects.tasks.expire_deferrals"),
    "notifications": every(1 * MINUTE, "fleet.tasks.send_notifications"),
}
