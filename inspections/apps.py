"""Inspections."""

from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    """Sheets, inspections, measurements, rigging events and occurrences."""

    name = "inspections"
