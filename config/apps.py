"""Composition."""

from django.apps import AppConfig

from config.celery import app as celery_app

__all__ = ["ConfigConfig", "celery_app"]


class ConfigConfig(AppConfig):
    """Joins the apps: URLs, commands, demo. Importing it makes the Celery application the current one."""

    name = "config"
