"""The act table, walked: every state by every act by every role, and every pair of states."""

from datetime import timedelta
from itertools import product

import pytest

from defects.lifecycle import ACTS, CLOSED_STATES, EXPIRE, OPEN_STATES, Act, State, mermaid
from defects.models import Defect
from defects.permissions import allowed_acts, why_not_role
from defects.services import upkeep
from fleet.errors import Conflict, Forbidden, NotFound
from fleet.models import Role
from tests.defects.attempts import LATER, attempt, defect_in, free_inspector, variants_of
from tests.factories import ClubFactory, InspectorFactory
from tests.scenes import roles_in
from tests.unchanged import taken_back, unchanged

pytestmark = pytest.mark.django_db

BY_PEOPLE = tuple(act for act in ACTS if act.by)
FAR = LATER + timedelta(days=400)


def code_of(act: Act) -> str:
    return act.code


@pytest.mark.parametrize("act", BY_PEOPLE, ids=code_of)
@pytest.mark.parametrize("state", State)
def test_an_act_is_taken_from_its_states_by_its_roles_and_refused_otherwise(state: State, act: Act) -> None:
    defect = defect_in(state)
    members = roles_in(defect.aircraft.club)
    for role, member in members.items():
        refused = Forbidden if role not in act.by else Conflict if state not in act.sources else None
        listed = act.code in allowed_acts(Defect.objects.get(id=defect.id), member, LATER)
        assert listed is (refused is None), role
        if refused is None:
            with taken_back():
                attempt(act, defect, by=member, supervisor=members[Role.INSPECTOR])
                assert Defect.objects.get(id=defect.id).state in {
                    edge.target for edge in act.edges if edge.source == state
                }, role
            continue
        with unchanged(), pytest.raises(refused) as refusal:
            attempt(act, defect, by=member, supervisor=members[Role.INSPECTOR])
        assert refusal.value.code == ("role" if refused is Forbidden else "state"), role


@pytest.mark.parametrize("source", State)
def test_every_pair_of_states_is_joined_by_exactly_the_edges_of_the_table(source: State) -> None:
    defect = defect_in(source)
    anybody = free_inspector(defect.aircraft)
    walked = set()
    for act in BY_PEOPLE:
        for changes in variants_of(act):
            with taken_back():
                try:
                    attempt(act, defect, by=anybody, **changes)
                except Conflict:
                    continue
                walked.add((act.code, State(Defect.objects.get(id=defect.id).state)))
    with taken_back():
        upkeep.expire_deferrals(FAR)
        after = State(Defect.objects.get(id=defect.id).state)
        if after != source:
            walked.add((EXPIRE.code, after))
    told = {(act.code, edge.target) for act in ACTS for edge in act.edges if edge.source == source}
    assert walked == told


def test_closed_states_have_no_way_out_and_open_ones_have() -> None:
    leaving = {edge.source for act in ACTS for edge in act.edges}
    assert leaving == set(OPEN_STATES)
    assert set(OPEN_STATES) | set(CLOSED_STATES) == set(State)


@pytest.mark.parametrize("role", Role)
def test_nobody_takes_what_only_a_scheduled_job_does(role: Role) -> None:
    club = ClubFactory.create()
    member = InspectorFactory.create(club=club, roles=[role], authorised=False)
    refusal = why_not_role(EXPIRE, member)
    assert refusal is not None
    assert refusal.code == "role"


@pytest.mark.parametrize("act", BY_PEOPLE, ids=code_of)
def test_a_member_who_has_left_is_refused(act: Act) -> None:
    defect = defect_in(sorted(act.sources)[0])
    member = free_inspector(defect.aircraft)
    member.active = False
    member.save()
    with unchanged(), pytest.raises(Forbidden):
        attempt(act, defect, by=member)


@pytest.mark.parametrize("act", BY_PEOPLE, ids=code_of)
def test_for_another_club_the_defect_is_not_there(act: Act) -> None:
    defect = defect_in(sorted(act.sources)[0])
    stranger = InspectorFactory.create(club=ClubFactory.create())
    with unchanged(), pytest.raises(NotFound):
        attempt(act, defect, by=stranger)


def test_the_diagram_shows_every_edge_once() -> None:
    lines = mermaid().splitlines()
    for act, (source, target) in ((act, pair) for act in ACTS for pair in product(State, State)):
        arrows = [line for line in lines if line.strip().startswith(f"{source} --> {target}: {act.code}")]
        assert len(arrows) == sum((edge.source, edge.target) == (source, target) for edge in act.edges)
