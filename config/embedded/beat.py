"""Beat inside the worker."""

from celery import bootsteps
from celery.beat import EmbeddedService


class EmbeddedBeat(bootsteps.StartStopStep):
    """Runs beat as a thread of the one worker of the embedded default, so that it can neither outlive it nor fire twice."""

    requires = {"celery.worker.components:Pool"}

    def include_if(self, parent):
        return parent.app.conf.broker_url.startswith("filesystem://")

    def create(self, parent):
        return EmbeddedService(parent.app, thread=True, schedule_filename=parent.app.conf.beat_schedule_filename)
