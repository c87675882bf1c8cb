"""Composition."""

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Joins the apps: URLs, commands, demo. Listed last, so that every source of facts is registered before the check."""

    name = "config"

    def ready(self) -> None:
        """Refuse to start when a fact has no source: a rule would judge without it."""
        from fleet import assessment  # models are loaded only now

        assessment.check_sources()
