"""The programme on real aircraft: what is due grounds when it should, and neither earlier nor later."""

from datetime import UTC, date, datetime, timedelta

import pytest

from defects.services.reports import Finding
from fleet import assessment
from fleet.airworthiness.due import Dimension
from fleet.errors import Conflict, Forbidden, Invalid
from fleet.models import Aircraft, Role
from inspections.models import DueItem
from inspections.services import compliances, directives, due, sweep
from tests.factories import ClubFactory, InspectorFactory, make_aircraft, member_of
from tests.factories.components import installed, make_component, make_kind, make_position, removed
from tests.factories.programme import complied, make_directive, make_task
from tests.factories.usage import flown, opened

pytestmark = pytest.mark.django_db
MAY = date(2025, 5, 10)


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def rules_of(aircraft: Aircraft, at: datetime) -> list[str]:
    verdict = assessment.assess([aircraft.id], at)[aircraft.id]
    return [reason.rule for reason in verdict.reasons]


@pytest.fixture
def aircraft() -> Aircraft:
    club = ClubFactory.create()
    InspectorFactory.create(club=club)
    made = make_aircraft(club)
    opened(made, minutes=114_000, launches=5_000)  # 1900 h
    return made


def test_a_mandatory_task_without_a_compliance_grounds_until_one_is_recorded(aircraft: Aircraft) -> None:
    task = make_task(aircraft.aircraft_type)
    assert rules_of(aircraft, noon(MAY)) == ["task_unknown"]
    complied(task, aircraft, on=MAY, at=noon(MAY), opening=True)
    assert rules_of(aircraft, noon(MAY)) == []


def test_an_advisory_task_never_grounds(aircraft: Aircraft) -> None:
    make_task(aircraft.aircraft_type, mandatory=False)
    assert assessment.assess([aircraft.id], noon(MAY))[aircraft.id].status.code == "serviceable"


@pytest.mark.parametrize(
    ("day", "rules"),
    [
        (date(2026, 4, 9), []),
        (date(2026, 4, 10), ["task_due_soon"]),  # 30 days of notice
        (date(2026, 5, 10), ["task_due_soon"]),  # the last day
        (date(2026, 5, 11), ["task_in_tolerance"]),
        (date(2026, 6, 10), ["task_in_tolerance"]),  # ML.A.302(d)(1): one month
        (date(2026, 6, 11), ["task_overdue"]),
    ],
)
def test_the_annual_of_a_sailplane(aircraft: Aircraft, day: date, rules: list[str]) -> None:
    """ML.A.302(d)(1), GM1 (c)(3) (T03): annual with one month of tolerance, no limit by hours."""
    task = make_task(aircraft.aircraft_type)
    complied(task, aircraft, on=MAY, at=noon(MAY))
    assert rules_of(aircraft, noon(day)) == rules


def test_the_stored_verdict_turns_with_the_days(aircraft: Aircraft) -> None:
    complied(make_task(aircraft.aircraft_type), aircraft, on=MAY, at=noon(MAY))
    state = Aircraft.objects.select_related("airworthiness").get(id=aircraft.id).airworthiness
    assert assessment.shown_at(state, noon(date(2026, 6, 10)))["status"] == "serviceable"
    assert assessment.shown_at(state, noon(date(2026, 6, 11)))["status"] == "grounded"


def hundred_hours(counting: str) -> dict[str, object]:
    return {"dimension": "airframe_minutes", "every": 6_000, "tolerance": 600, "notice": 300}


@pytest.mark.parametrize(
    ("counting", "next_due"),
    [
        ("from_actual", 126_480),  # AMC1 ML.A.302(d): 2008.0 h + 100 h (T04)
        ("from_scheduled", 126_000),  # the older Part-M rule: 2100.0 h
        ("overrun_deducted", 126_000),  # 14 CFR 91.409(b): the excess counts (T32)
    ],
)
def test_a_hundred_hours_flown_over(aircraft: Aircraft, counting: str, next_due: int) -> None:
    task = make_task(aircraft.aircraft_type, hundred_hours(counting), counting=counting)
    complied(task, aircraft, on=MAY, at=noon(MAY))
    flown(aircraft, flown_on=MAY + timedelta(days=1), airframe_minutes=1_000, at=noon(MAY + timedelta(days=2)))
    for day in range(2, 10):
        flown(aircraft, flown_on=MAY + timedelta(days=day), airframe_minutes=685, at=noon(MAY + timedelta(days=day)))
    later = noon(MAY + timedelta(days=11))
    assert rules_of(aircraft, later) == ["task_in_tolerance"]  # 2008 h, due at 2000 h
    complied(task, aircraft, on=later.date(), at=later)
    assert DueItem.objects.get(task=task).due_airframe_minutes == next_due


def test_usage_that_is_recorded_grounds_at_once(aircraft: Aircraft) -> None:
    task = make_task(aircraft.aircraft_type, {"dimension": "launches", "every": 10})
    complied(task, aircraft, on=MAY, at=noon(MAY))
    day = MAY + timedelta(days=1)
    assert flown(aircraft, flown_on=day, winch_launches=10, at=noon(day)).verdict.status.code == "serviceable"
    day += timedelta(days=1)
    assert flown(aircraft, flown_on=day, winch_launches=1, at=noon(day)).verdict.status.code == "grounded"


def test_a_life_limit_travels_with_the_component(aircraft: Aircraft) -> None:
    """ML.A.503 (T65): 1,985 of 2,000 launches is in order, at 2,000 the limit is reached; no tolerance."""
    kind = make_kind(aircraft.club)
    position = make_position(aircraft.aircraft_type, kind, required=True)
    limit = {"dimension": "launches", "every": None, "first": 2_000}
    make_task(kind, limit, life_limit=True, title="Tow release life")
    release = make_component(kind, manufactured_on=date(2023, 5, 1), brought_forward=dict.fromkeys(
        ("airframe_minutes", "launches", "landings", "engine_minutes", "engine_starts", "cycles"), 1_985))  # fmt: skip
    assert "component_missing" in rules_of(aircraft, noon(MAY))
    installed(release, aircraft, position, at=noon(MAY))
    assert rules_of(aircraft, noon(MAY)) == []
    day = MAY + timedelta(days=1)
    flown(aircraft, flown_on=day, winch_launches=14, at=noon(day))
    assert rules_of(aircraft, noon(day)) == []
    day += timedelta(days=1)
    flown(aircraft, flown_on=day, winch_launches=1, at=noon(day))
    assert rules_of(aircraft, noon(day)) == ["life_limit_reached"]
    removed(release, at=noon(day) + timedelta(hours=1))
    assert rules_of(aircraft, noon(day)) == ["component_missing"]


def test_a_flight_entered_late_counts_where_the_component_is_now(aircraft: Aircraft) -> None:
    kind = make_kind(aircraft.club)
    position = make_position(aircraft.aircraft_type, kind)
    make_task(kind, {"dimension": "launches", "every": None, "first": 100}, life_limit=True)
    part = make_component(kind, manufactured_on=date(2024, 5, 1))
    installed(part, aircraft, position, at=noon(MAY))
    removed(part, at=noon(MAY + timedelta(days=10)))
    other = make_aircraft(aircraft.club, aircraft_type=aircraft.aircraft_type)
    opened(other)
    installed(part, other, position, at=noon(MAY + timedelta(days=11)))
    late = noon(MAY + timedelta(days=20))
    assert rules_of(other, late) == []
    flown(aircraft, flown_on=MAY + timedelta(days=5), winch_launches=100, airframe_minutes=600, at=late)
    assert rules_of(other, late) == ["life_limit_reached"]
    stored = Aircraft.objects.select_related("airworthiness").get(id=other.id).airworthiness
    assert stored.status == "grounded"


def test_a_directive_grounds_until_somebody_has_assessed_it(aircraft: Aircraft) -> None:
    officer = member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    directive = make_directive(aircraft.club, at=noon(MAY), effective_on=MAY, aircraft_types=[aircraft.aircraft_type])
    assert rules_of(aircraft, noon(MAY)) == ["directive_unassessed"]
    directives.assess_directive(
        directive=directive,
        aircraft_id=aircraft.id,
        by=officer,
        at=noon(MAY),
        decision="not_applicable",
        reason="Modified.",
    )
    assert rules_of(aircraft, noon(MAY)) == []


def test_an_applicable_directive_has_no_tolerance(aircraft: Aircraft) -> None:
    """ML.A.303 (T11): due 2026-04-01, that day not yet overdue, the next day grounded."""
    effective = date(2026, 3, 2)
    directive = make_directive(
        aircraft.club, at=noon(effective), effective_on=effective, aircraft_types=[aircraft.aircraft_type]
    )
    task = make_task(
        aircraft.aircraft_type,
        {"dimension": "days", "first": 30, "every": None},
        directive=directive,
        at=noon(effective),
    )
    inspector = member_of(aircraft.club, Role.INSPECTOR)
    directives.assess_directive(
        directive=directive,
        aircraft_id=aircraft.id,
        by=inspector,
        at=noon(effective),
        decision="applicable",
        reason="By serial.",
    )
    assert "directive_overdue" not in [
        reason.rule
        for reason in assessment.assess([aircraft.id], noon(date(2026, 4, 1)))[aircraft.id].reasons
        if reason.effect.code == "grounds"
    ]
    assert assessment.assess([aircraft.id], noon(date(2026, 4, 2)))[aircraft.id].status.code == "grounded"
    day = noon(date(2026, 4, 3))
    complied(task, aircraft, on=day.date(), at=day)
    assert rules_of(aircraft, day) == []
    assert rules_of(aircraft, day + timedelta(days=400)) == []  # once, and done


def test_a_revision_has_to_be_assessed_anew(aircraft: Aircraft) -> None:
    officer = member_of(aircraft.club, Role.TECHNICAL_OFFICER)
    types = [aircraft.aircraft_type]
    first = make_directive(aircraft.club, at=noon(MAY), effective_on=MAY, aircraft_types=types)
    directives.assess_directive(
        directive=first, aircraft_id=aircraft.id, by=officer, at=noon(MAY), decision="not_applicable", reason="Serial."
    )
    later = MAY + timedelta(days=30)
    make_directive(
        aircraft.club, at=noon(later), effective_on=later, aircraft_types=types, reference=first.reference, revision="1",
        supersedes=first,
    )  # fmt: skip
    assert rules_of(aircraft, noon(later)) == ["directive_unassessed"]


@pytest.mark.parametrize(
    ("serial_from", "serial_to", "concerned"), [("", "", True), ("900000", "", False), ("", "0", False)]
)
def test_a_directive_by_serial_range(aircraft: Aircraft, serial_from: str, serial_to: str, concerned: bool) -> None:
    make_directive(
        aircraft.club,
        at=noon(MAY),
        effective_on=MAY,
        aircraft_types=[aircraft.aircraft_type],
        serial_from=serial_from,
        serial_to=serial_to,
    )
    assert (rules_of(aircraft, noon(MAY)) == ["directive_unassessed"]) is concerned


def test_who_may_not_sign_or_sign_this(aircraft: Aircraft) -> None:
    task = make_task(aircraft.aircraft_type)
    other = make_aircraft(aircraft.club)
    with pytest.raises(Invalid):
        complied(task, other, on=MAY, at=noon(MAY))
    with pytest.raises(Invalid):
        complied(task, aircraft, on=MAY + timedelta(days=2), at=noon(MAY))
    with pytest.raises(Invalid):
        complied(task, aircraft, on=MAY, at=noon(MAY), readings={"launches": 6_000})
    with pytest.raises(Forbidden):
        compliances.comply(
            task=task,
            aircraft_id=aircraft.id,
            by=member_of(aircraft.club, Role.PILOT, other_than={member_of(aircraft.club, Role.INSPECTOR).id}),
            at=noon(MAY),
            work=compliances.Work(done_on=MAY, method="x", data_used="x"),
        )
    kind = make_kind(aircraft.club)
    life = make_task(kind, {"dimension": "launches", "every": None, "first": 10}, life_limit=True)
    part = make_component(kind, manufactured_on=date(2024, 5, 1))
    installed(part, aircraft, make_position(aircraft.aircraft_type, kind), at=noon(MAY))
    with pytest.raises(Conflict):
        complied(life, aircraft, on=MAY, at=noon(MAY) + timedelta(minutes=1), component=part)


def test_findings_become_defects(aircraft: Aircraft) -> None:
    task = make_task(aircraft.aircraft_type)
    finding = Finding(description="Hinge worn.", item=None, found_at=noon(MAY), found_during="maintenance")
    _compliance, defects, verdict = complied(task, aircraft, on=MAY, at=noon(MAY), found=(finding,))
    assert [defect.description for defect in defects] == ["Hinge worn."]
    assert [reason.rule for reason in verdict.reasons] == ["unclassified_defect"]


def test_recomputing_from_nothing_gives_the_same_rows_and_the_sweep_the_same_states(aircraft: Aircraft) -> None:
    kind = make_kind(aircraft.club)
    part = make_component(kind, manufactured_on=date(2020, 2, 29))
    installed(part, aircraft, make_position(aircraft.aircraft_type, kind), at=noon(MAY))
    tasks = [
        make_task(aircraft.aircraft_type),
        make_task(aircraft.aircraft_type, {"dimension": "airframe_minutes", "every": 3_000, "notice": 500}),
        make_task(aircraft.aircraft_type, {"dimension": "calendar_months", "every": 24}),
        make_task(aircraft, {"dimension": "days", "every": 90, "tolerance": 5, "notice": 10}),
    ]
    make_task(
        kind,
        {"dimension": "launches", "every": None, "first": 40},
        {"dimension": "months", "every": 120},
        life_limit=True,
    )
    for task in tasks[:3]:
        complied(task, aircraft, on=MAY, at=noon(MAY) + timedelta(minutes=1))
    flown(
        aircraft,
        flown_on=MAY + timedelta(days=3),
        winch_launches=39,
        airframe_minutes=900,
        at=noon(MAY + timedelta(days=3)),
    )
    names = [field.name for field in DueItem._meta.fields if field.name not in ("id", "changed_at")]
    stored = sorted(map(repr, DueItem.objects.values(*names)))
    at = noon(MAY + timedelta(days=3))
    DueItem.objects.all().delete()
    due.recompute(assessment.lock_many(Aircraft.objects.filter(id=aircraft.id), at=at), at)
    assert sorted(map(repr, DueItem.objects.values(*names))) == stored
    for days in (0, 60, 89, 95, 96, 340, 366, 396, 397, 800):
        later = noon(MAY + timedelta(days=days + 3))
        sweep.sweep(later)
        for item in DueItem.objects.select_related("task", "aircraft__club", "aircraft__usage_total"):
            meter = {Dimension(n): v for n, v in item.aircraft.usage_total.amounts().items()}
            assert item.state == due.state_of(item, meter, item.aircraft.club.time_zone, later), (item.task.code, days)
    assert sweep.sweep(later) == []
