"""The factories keep what their docstrings promise."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from defects.models import Defect
from fleet import assessment, events
from fleet.models import Aircraft, Club
from inspections.models import Outcome, Sheet
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def club() -> Club:
    return factories.ClubFactory.create()


def shown(aircraft: Aircraft) -> tuple[str, bool]:
    state = factories.fresh(aircraft).airworthiness
    return state.status, state.ready_today


def test_an_aircraft_with_its_documents_is_serviceable_and_not_inspected(club: Club) -> None:
    assert shown(factories.make_aircraft(club)) == ("serviceable", False)


def test_an_aircraft_without_documents_is_grounded(club: Club) -> None:
    assert shown(factories.make_aircraft(club, documents=False)) == ("grounded", False)


def test_an_inspected_aircraft_is_ready(club: Club) -> None:
    aircraft = factories.make_aircraft(club, ballast=True, inspected_at=NOW)
    assert shown(aircraft) == ("serviceable", True)
    assert assessment.assess([aircraft.id], NOW)[aircraft.id].ready_today


def test_a_second_aircraft_of_a_type_uses_its_sheets(club: Club) -> None:
    first = factories.make_aircraft(club)
    factories.make_aircraft(club, aircraft_type=first.aircraft_type)
    assert Sheet.objects.filter(aircraft_type=first.aircraft_type).count() == 2


STATES = [
    (factories.reported, "reported", "limited", "grounded"),
    (factories.assessed, "assessed", "limited", "grounded"),
    (factories.no_defect, "no_defect", "serviceable", "serviceable"),
    (factories.rectified, "rectified", "grounded", "grounded"),
    (factories.inspected, "rectified", "grounded", "grounded"),
    (factories.rejected, "assessed", "grounded", "grounded"),
    (factories.released, "released", "serviceable", "serviceable"),
]


@pytest.mark.parametrize(("build", "state", "plain", "critical"), STATES)
def test_a_defect_in_each_state(
    club: Club, build: Callable[..., Defect], state: str, plain: str, critical: str
) -> None:
    for is_critical, status in ((False, plain), (True, critical)):
        aircraft = factories.make_aircraft(club, inspected_at=NOW - timedelta(hours=1))
        assert build(aircraft, critical=is_critical).state == state
        assert shown(aircraft)[0] == status
    assert events.verify(club).valid


def test_a_deferred_defect(club: Club) -> None:
    aircraft = factories.make_aircraft(club)
    assert factories.deferred(aircraft).state == "deferred"
    assert shown(aircraft)[0] == "limited"


def test_an_unclassified_defect_grounds(club: Club) -> None:
    aircraft = factories.make_aircraft(club)
    assert factories.reported(aircraft, item_code=None).item is None
    assert shown(aircraft)[0] == "grounded"


def test_results_can_be_changed_by_code(club: Club) -> None:
    aircraft = factories.make_aircraft(club)
    sheet = factories.publish_sheet(aircraft.aircraft_type)
    results = factories.complete_results(
        sheet,
        second=factories.MemberFactory.create(club=club),
        sealing_tape={"outcome": Outcome.DEFECT, "description": "Loose."},
    )
    recorded = factories.inspect(aircraft, results=results)
    assert recorded.inspection.complete
    assert [defect.description for defect in recorded.defects] == ["Loose."]


def test_rigging_grounds_until_the_inspection_after_it(club: Club) -> None:
    aircraft = factories.make_aircraft(club)
    factories.rig(aircraft, at=NOW)
    assert shown(aircraft)[0] == "grounded"
    factories.inspect(aircraft, "after_rigging", at=NOW + timedelta(hours=1))
    assert shown(aircraft)[0] == "serviceable"
