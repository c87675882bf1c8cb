"""The real settings with what tests need: cheap passwords, plain static files, mail in memory (by Django's test runner)."""

import os

os.environ.setdefault("DJANGO_SECRET_KEY", "only-for-tests")
os.environ.setdefault("DJANGO_HTTPS", "false")
os.environ.setdefault("LOG_LEVEL", "WARNING")

from config.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher", *PASSWORD_HASHERS]  # noqa: F405
STORAGES = STORAGES | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}  # noqa: F405
