"""Beat inside the worker."""

from typing import Any

from celery import bootsteps
from celery.beat import EmbeddedService


class EmbeddedBeat(bootsteps.StartStopStep):
    """Runs beat as a thread of the one worker of the embedded default, so that it can neither outlive it nor fire twice."""

    requires = ("celery.worker.components:Pool",)

    def include_if(self, parent: Any) -> bool:
        return bool(parent.app.conf.broker_url.startswith("filesystem://"))

    def create(self, parent: Any) -> Any:
        return EmbeddedService(parent.app, thread=True, schedule_filename=parent.app.conf.beat_schedule_filename)
