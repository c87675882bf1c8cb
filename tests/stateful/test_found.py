"""What the machines, or thinking about them, have found: each once more, by itself."""

from datetime import timedelta
from typing import Any

import pytest

from fleet import assessment
from fleet.errors import Invalid
from fleet.models import Aircraft
from fleet.permissions import today_in
from fleet.services import register
from tests.factories import (
    BALLAST,
    NOW,
    ClubFactory,
    complete_results,
    fresh,
    inspect,
    keeper_of,
    make_aircraft,
    publish_sheet,
    rig,
)

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def aircraft() -> Aircraft:
    return make_aircraft(ClubFactory.create(), ballast=True)


def rules(aircraft: Aircraft) -> set[str]:
    return {reason["rule"] for reason in fresh(aircraft).airworthiness.reasons}


def ballast_unknown(aircraft: Aircraft) -> list[Any]:
    sheet = aircraft.aircraft_type.sheets.filter(kind="daily").latest("version")
    return [one for one in complete_results(sheet) if one.item != BALLAST]


def test_an_incomplete_inspection_does_not_clear_an_unknown_ballast(aircraft: Aircraft) -> None:
    inspect(aircraft, results=ballast_unknown(aircraft))
    sheet = aircraft.aircraft_type.sheets.get(kind="daily")
    only_ballast = [one for one in complete_results(sheet) if one.item == BALLAST]
    recorded = inspect(aircraft, at=NOW + MINUTE, results=only_ballast)
    assert not recorded.inspection.complete
    assert recorded.inspection.ballast_known
    assert "ballast_unknown" in rules(aircraft)


def test_a_sheet_that_does_not_ask_does_not_clear_an_unknown_ballast(aircraft: Aircraft) -> None:
    inspect(aircraft, results=ballast_unknown(aircraft))
    codes = aircraft.aircraft_type.items.exclude(code=BALLAST).values_list("code", flat=True)
    silent = publish_sheet(aircraft.aircraft_type, codes=list(codes))
    recorded = inspect(aircraft, at=NOW + MINUTE, results=complete_results(silent), sheet_id=silent.id)
    assert recorded.inspection.complete
    assert "ballast_unknown" in rules(aircraft)


@pytest.mark.parametrize("kind", ["after_rigging", "daily"])
def test_an_inspection_by_a_clock_that_runs_ahead_does_not_see_a_later_rigging(aircraft: Aircraft, kind: str) -> None:
    """Recorded at nine, said to be of four past nine; rigged at two past nine."""
    ahead = NOW + 4 * MINUTE
    inspect(aircraft, kind, at=NOW, started_at=ahead, completed_at=ahead)
    rig(aircraft, at=NOW + 2 * MINUTE)
    assert "rigging_check_missing" in rules(aircraft)
    assert not fresh(aircraft).airworthiness.ready_today
    assert not assessment.assess([aircraft.id], ahead)[aircraft.id].ready_today


def test_riggings_of_one_instant_are_always_told_in_the_same_order(aircraft: Aircraft) -> None:
    for _ in range(5):
        rig(aircraft, at=NOW)
        rig(aircraft, at=NOW, kind="derigged")
        stored = fresh(aircraft).airworthiness.reasons
        assert stored == assessment.shown_values(assessment.assess([aircraft.id], NOW)[aircraft.id])["reasons"]


def test_a_document_of_a_day_to_come_is_refused(aircraft: Aircraft) -> None:
    tomorrow = today_in(aircraft.club, NOW) + timedelta(days=1)
    by = keeper_of(aircraft.club)
    with pytest.raises(Invalid) as refused:
        register.add_document(aircraft_id=aircraft.id, by=by, at=NOW, kind="insurance", issued_on=tomorrow)
    assert [error.pointer for error in refused.value.errors] == ["/issued_on"]
    held = aircraft.documents.first()
    assert held is not None
    with pytest.raises(Invalid):
        register.change_document(
            *register.lock_document(held.id, by=by, at=NOW), by=by, at=NOW, changes={"issued_on": tomorrow}
        )
