"""Composition."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Joins the apps: URLs, commands, demo. Listed last, so that every source of facts is registered before the check."""

    name = "config"

    def ready(self) -> None:
        """Refuse to start when a fact has no source: a rule would judge without it. Note the runs of jobs."""
        from celery.signals import task_success, worker_ready

        from config import job_runs  # models are loaded only now
        from fleet import assessment

        assessment.check_sources()
        worker_ready.connect(job_runs.expect_runs)
        task_success.connect(job_runs.note_run)
