"""Defects and their acts."""

from django.apps import AppConfig


class DefectsConfig(AppConfig):
    """Reports, triage, deferral, rectification, independent inspection, release."""

    name = "defects"
