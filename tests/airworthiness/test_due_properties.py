"""What holds for every schedule, every history and every reading."""

from collections.abc import Mapping
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from fleet.airworthiness import due
from fleet.airworthiness.due import (
    CalendarInterval,
    CalendarRule,
    Counting,
    Dimension,
    Done,
    Limits,
    Schedule,
    State,
    UsageInterval,
    add_months,
)
from fleet.airworthiness.limits import end_of_day

DIMENSIONS = [Dimension.AIRFRAME_MINUTES, Dimension.LAUNCHES, Dimension.ENGINE_STARTS]
WORSE = [State.OK, State.DUE_SOON, State.IN_TOLERANCE, State.UNKNOWN, State.OVERDUE]
ZONES = ["UTC", "Europe/Berlin", "Pacific/Apia", "America/Havana"]

amounts = st.integers(0, 60)
lengths = st.integers(1, 40)
dates = st.dates(date(2023, 12, 25), date(2026, 3, 5))  # a leap day and ends of months among them
rules = st.sampled_from(CalendarRule)


def usage_interval(dimension: Dimension, *, life_limit: bool) -> st.SearchStrategy[UsageInterval]:
    return st.builds(
        UsageInterval,
        dimension=st.just(dimension),
        first=st.none() | lengths,
        every=lengths,
        tolerance=st.just(0) if life_limit else st.integers(0, 10),
        notice=st.integers(0, 15),
    )


def calendar_interval(*, life_limit: bool) -> st.SearchStrategy[CalendarInterval]:
    return st.builds(
        CalendarInterval,
        rule=rules,
        first=st.none() | lengths,
        every=lengths,
        tolerance=st.just(0) if life_limit else st.integers(0, 3),
        tolerance_rule=rules,
        notice_days=st.integers(0, 40),
    )


@st.composite
def schedules(draw: st.DrawFn) -> Schedule:
    life_limit = draw(st.booleans())
    dimensions = draw(st.lists(st.sampled_from(DIMENSIONS), unique=True))
    usage = tuple(draw(usage_interval(dimension, life_limit=life_limit)) for dimension in dimensions)
    calendars = calendar_interval(life_limit=life_limit)
    calendar = draw(st.none() | calendars) if usage else draw(calendars)
    return Schedule(usage=usage, calendar=calendar, counting=draw(st.sampled_from(Counting)), life_limit=life_limit)


def readings(*, complete: bool = False) -> st.SearchStrategy[Mapping[Dimension, int]]:
    known = dict.fromkeys(DIMENSIONS, amounts)
    return st.fixed_dictionaries(known if complete else {}, optional={} if complete else known)


def work(*, complete: bool = False) -> st.SearchStrategy[Done]:
    return st.builds(Done, on=dates, readings=readings(complete=complete))


@st.composite
def limits(draw: st.DrawFn) -> Limits:
    """Limits after any history of work, the incomplete and the disorderly included."""
    plan = draw(schedules())
    start = draw(st.none() | work())
    found = due.limits(plan, start, None, None)
    for last in draw(st.lists(work(), max_size=3)):
        found = due.limits(plan, start, last, draw(st.sampled_from([found, None])))
    return found


@given(limits(), readings(), dates, st.integers(0, 400), readings())
def test_the_state_only_worsens_with_time_and_usage(
    found: Limits, now: Mapping[Dimension, int], today: date, days: int, more: Mapping[Dimension, int]
) -> None:
    after = {dimension: reading + more.get(dimension, 0) for dimension, reading in now.items()}
    before_state = due.assess(found, now, today)
    after_state = due.assess(found, after, today + timedelta(days=days))
    assert WORSE.index(after_state.state) >= WORSE.index(before_state.state)
    for one, other in zip(before_state.remaining, after_state.remaining, strict=True):
        assert one.left is None or (other.left is not None and other.left <= one.left)


@given(limits(), readings(), st.sampled_from(DIMENSIONS), dates)
def test_a_reading_that_is_not_known_never_helps(
    found: Limits, now: Mapping[Dimension, int], lost: Dimension, today: date
) -> None:
    fewer = {dimension: reading for dimension, reading in now.items() if dimension is not lost}
    before, after = due.state.state(found, now, today), due.state.state(found, fewer, today)
    assert WORSE.index(after) >= min(WORSE.index(before), WORSE.index(State.UNKNOWN))


@given(limits(), readings(), dates)
def test_the_worst_measure_and_the_least_left_governs(found: Limits, now: Mapping[Dimension, int], today: date) -> None:
    assessed = due.assess(found, now, today)
    by_measure = {one.measure: one for one in assessed.remaining}
    assert set(by_measure) == {limit.dimension for limit in found.usage} | set(found.unknown) | (
        {due.CALENDAR} if found.calendar else set()
    )
    if assessed.governing is None:
        assert not by_measure
        return
    governing = by_measure[assessed.governing]
    assert governing.state is assessed.state
    for one in assessed.remaining:
        assert WORSE.index(one.state) <= WORSE.index(governing.state)
        if one.state is governing.state and one.share is not None and governing.share is not None:
            assert one.share >= governing.share


@given(limits(), readings(), dates)
def test_the_quick_state_is_the_assessed_one(found: Limits, now: Mapping[Dimension, int], today: date) -> None:
    assert due.state.state(found, now, today) is due.assess(found, now, today).state


@given(limits(), readings(), dates)
def test_a_life_limit_is_never_in_tolerance(found: Limits, now: Mapping[Dimension, int], today: date) -> None:
    if found.life_limit:
        assert due.state.state(found, now, today) is not State.IN_TOLERANCE


@given(limits())
def test_notice_due_and_hard_follow_each_other(found: Limits) -> None:
    for limit in found.usage:
        assert limit.notice <= limit.due <= limit.hard
    if found.calendar is not None:
        assert found.calendar.notice_on <= found.calendar.due_on <= found.calendar.hard_on
    if found.life_limit:
        assert all(limit.due == limit.hard for limit in found.usage)
        assert found.calendar is None or found.calendar.due_on == found.calendar.hard_on


@given(schedules(), work(complete=True), work(complete=True))
def test_the_next_limit_lies_ahead_and_not_too_far(plan: Schedule, start: Done, last: Done) -> None:
    previous = due.limits(plan, start, None, None)
    found = due.limits(plan, start, last, previous)
    for interval in plan.usage:
        limit, scheduled = found.in_dimension(interval.dimension), previous.in_dimension(interval.dimension)
        assert limit is not None and scheduled is not None and interval.every is not None
        actual = last.readings[interval.dimension]
        early = max(scheduled.interval // 2, interval.tolerance)
        assert actual < limit.due <= actual + interval.every + early
        if plan.counting in (Counting.FROM_ACTUAL, Counting.OVERRUN_DEDUCTED) or actual >= scheduled.due:
            assert limit.due <= actual + interval.every
    if found.calendar is not None:
        assert found.calendar.due_on > last.on


@given(rules, lengths, st.integers(1, 6), dates)
def test_a_schedule_kept_to_the_day_is_counted_from_its_first_date(
    rule: CalendarRule, every: int, times: int, start: date
) -> None:
    plan = Schedule(
        usage=(),
        calendar=CalendarInterval(rule=rule, every=every),
        counting=Counting.FROM_SCHEDULED,
        life_limit=False,
    )
    found = due.limits(plan, Done(on=start, readings={}), None, None)
    for _ in range(times - 1):
        assert found.calendar is not None
        found = due.limits(plan, None, Done(on=found.calendar.due_on, readings={}), found)
    at_once = due.limits(
        Schedule(
            usage=(),
            calendar=CalendarInterval(rule=rule, every=every * times),
            counting=Counting.FROM_ACTUAL,
            life_limit=False,
        ),
        Done(on=start, readings={}),
        None,
        None,
    )
    assert found.calendar is not None and at_once.calendar is not None
    assert found.calendar.due_on == at_once.calendar.due_on


@given(dates, st.integers(1, 30), st.integers(1, 30))
def test_months_at_once_are_never_before_months_in_steps(start: date, first: int, then: int) -> None:
    assert add_months(add_months(start, first), then) <= add_months(start, first + then)


@given(limits(), readings(), dates, st.integers(-400, 400), st.sampled_from(ZONES))
def test_the_state_changes_with_time_only_at_a_turn(
    found: Limits, now: Mapping[Dimension, int], today: date, days: int, zone: str
) -> None:
    other = today + timedelta(days=days)
    begins, ends = sorted((end_of_day(today, zone), end_of_day(other, zone)))
    states = {due.state.state(found, now, day) for day in (today, other)}
    # a state holds through the end of its day: a turn between two days lies at the latest at the start of the later
    between = [turn for turn in due.turns(found, zone) if begins <= turn < ends]
    assert len(states) == 1 or between


@given(limits(), readings(), readings())
def test_a_flight_not_warned_of_ends_before_every_limit(
    found: Limits, now: Mapping[Dimension, int], flight: Mapping[Dimension, int]
) -> None:
    warned = due.becomes_due_in_flight(found, now, flight)
    for limit in found.usage:
        added = flight.get(limit.dimension, 0)
        if limit.dimension not in warned:
            assert not added or now[limit.dimension] + added < limit.due
