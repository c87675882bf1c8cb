"""The register."""

from django.apps import AppConfig


class FleetConfig(AppConfig):
    """Clubs, people, aircraft and the assessment of airworthiness."""

    name = "fleet"

    def ready(self) -> None:
        """Register the register's own facts."""
        from fleet import assessment, facts  # models are loaded only now

        assessment.register("fleet", provides=facts.PROVIDES, gather=facts.gather)
