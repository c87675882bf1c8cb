"""All of the demo or nothing."""

import pytest

from config.demo import load
from fleet.errors import Invalid
from fleet.models import Club, Person
from tests.demo.conftest import INSTANTS, PASSWORD
from tests.factories import MemberFactory

pytestmark = pytest.mark.django_db


def test_a_user_name_that_somebody_has_leaves_everything_as_it_was() -> None:
    MemberFactory.create(username="inspector2")
    with pytest.raises(Invalid, match="taken"):
        load(password=PASSWORD, now=INSTANTS["leap day in winter"])
    assert (Club.objects.count(), Person.objects.count()) == (1, 1)


def test_an_instant_without_a_time_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        load(password=PASSWORD, now=INSTANTS["leap day in winter"].replace(tzinfo=None))
    assert not Club.objects.exists()
