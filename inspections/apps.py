"""Inspections."""

from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    """Sheets, inspections, measurements, rigging events and occurrences."""

    name = "inspections"

    def ready(self) -> None:
        """Register what inspections, rigging and occurrences tell the rules."""
        from fleet import assessment
        from inspections import facts  # models are loaded only now

        assessment.register("inspections", provides=facts.PROVIDES, gather=facts.gather)
