"""The register."""

from django.apps import AppConfig


class FleetConfig(AppConfig):
    """Clubs, people, aircraft and the assessment of airworthiness."""

    name = "fleet"
