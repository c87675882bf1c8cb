"""Defects and their acts."""

from django.apps import AppConfig


class DefectsConfig(AppConfig):
    """Reports, triage, deferral, rectification, independent inspection, release."""

    name = "defects"

    def ready(self) -> None:
        """Register what open defects tell the rules."""
        from defects import facts  # models are loaded only now
        from fleet import assessment

        assessment.register("defects", provides=facts.PROVIDES, gather=facts.gather)
