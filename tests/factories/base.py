"""What the factories have in common: they create through a service, and say what they create."""

from typing import Any, TypeVar

from django.db.models import Model
from factory.django import DjangoModelFactory

M = TypeVar("M", bound=Model)


class ServiceFactory(DjangoModelFactory[M]):
    """``SomeFactory.create(...)`` is the typed spelling of ``SomeFactory(...)``, whose result mypy does not know."""

    class Meta:
        abstract = True

    @classmethod
    def create(cls, **kwargs: Any) -> M:
        """One stored record."""
        made: M = super().create(**kwargs)
        return made
