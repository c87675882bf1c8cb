"""R5 through the HTTP API: the same machine with fewer examples, every act a request, every look an answer."""

from collections import Counter
from unittest.mock import patch

import pytest
from django.utils import timezone
from hypothesis.stateful import run_state_machine_as_test

from fleet.models import ApiToken, Membership, Role
from fleet.services import access
from tests.factories import NOW, MemberFactory
from tests.stateful.http_acts import HttpActs
from tests.stateful.over_http import OverHttp
from tests.stateful.profiles import PROFILE, profile
from tests.stateful.test_services import listening
from tests.stateful.watch import Watched
from tests.stateful.world import World, build

pytestmark = pytest.mark.django_db(transaction=True)
SHARE = 0.1  # of the examples of the machine on the services
DONE = ("report", "triage", "rectify", "inspect independently", "release", "inspection", "change document", "nonsense")


def token_of(member: Membership) -> str:
    return access.issue_token(by=member, name="machine", at=NOW)[1]


def tokens_of(world: World, clerks: tuple[Membership, Membership]) -> OverHttp:
    members = [*Membership.objects.filter(id__in=world.members), *clerks]
    tokens = {member.id: token_of(member) for member in members}
    ApiToken.objects.update(expires_at=NOW.replace(year=2099), last_used_at=NOW.replace(year=2099))
    return OverHttp(tokens)


def test_every_sequence_of_requests_keeps_the_invariants() -> None:
    world = build()
    first, second = (MemberFactory.create(club=club, roles=[Role.AUDITOR]) for club in world.clubs)
    Watched.world, Watched.tally = world, Counter()
    HttpActs.clerks = first, second
    HttpActs.way = tokens_of(world, HttpActs.clerks)
    with listening(), patch.object(timezone, "now", HttpActs.way.now):
        run_state_machine_as_test(HttpActs, settings=profile(SHARE))
    assert PROFILE == "quick" or not [name for name in DONE if not Watched.tally[name]], dict(Watched.tally)
