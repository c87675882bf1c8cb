"""Checks 4, 6 and 8: defects, repairs, and maintenance that was certified."""

from collections.abc import Iterator

from fleet.airworthiness.facts import DefectFact
from fleet.airworthiness.flying_day import flying_day
from fleet.airworthiness.review.check import Found, Table, day, since_then, tables
from fleet.airworthiness.review.known import ClosedDefect, Known, WorkKnown
from fleet.airworthiness.rules.deferrals import DEFERRAL_EXPIRED, DEFERRAL_RUNNING, limit_in_words
from fleet.airworthiness.sentences import capitalised, named, one_line, words

_COMBINED = "Two or more defects are deferred: judge what they do together (AMC M.A.301(b)(2))."


def _deferred(known: Known) -> list[DefectFact]:
    """Defects whose deferral holds."""
    running = {reason.subject_id for reason in DEFERRAL_RUNNING.judge(known.facts, known.now)}
    return [defect for defect in known.facts.defects if defect.id in running]


def _wanting(defect: DefectFact, flaws: dict[str, str]) -> str:
    if defect.id in flaws:
        return flaws[defect.id]
    if defect.work_unreleased:
        return f"{named(defect)} was worked on and is not released to service. Have the work inspected and released."
    return (
        f"{named(defect)} is {words(defect.state)}, and neither corrected nor deferred. Have it rectified or deferred."
    )


def _open(known: Known) -> Iterator[str]:
    flaws = {
        reason.subject_id: f"{reason.message} {reason.cure}"
        for reason in DEFERRAL_EXPIRED.judge(known.facts, known.now)
    }
    holds = {defect.id for defect in _deferred(known)}
    yield from (_wanting(defect, flaws) for defect in known.facts.defects if defect.id not in holds)
    zone = known.facts.policy.time_zone
    for one in known.facts.occurrences:
        yield (
            f"{capitalised(words(one.kind))} on {flying_day(one.occurred_at, zone)} ({one_line(one.description)}):"
            " no unscheduled inspection has answered it. Have it made and recorded."
        )


def _closed(one: ClosedDefect) -> tuple[str, ...]:
    what = one.work_done or "found to be no defect"
    return f"{one.number} {one_line(one.description)}", what, day(one.closed_on), one.signed_by


def defects(known: Known) -> Found:
    """Known defects are corrected, or deferred in a controlled manner. ML.A.903(a)(4)."""
    deferred = _deferred(known)
    running = Table(
        title="Deferred",
        columns=("Defect", "Deferred", "Limitations"),
        rows=tuple(
            (
                f"{one.number} {one_line(one.description)}",
                limit_in_words(one.deferral) if one.deferral else "",
                "; ".join(one.deferral.limitations) if one.deferral else "",
            )
            for one in deferred
        ),
    )
    corrected = Table(
        title=f"Closed {since_then(known.since)}",
        columns=("Defect", "Work", "Closed", "Signed by"),
        rows=tuple(map(_closed, known.closed)),
    )
    notes = [f"{len(known.facts.defects)} open, {len(deferred)} of them deferred within their limits."]
    if len(deferred) > 1:
        notes.append(_COMBINED)
    return Found(open=tuple(_open(known)), notes=tuple(notes), tables=tables(running, corrected), evidence=True)


def repairs(known: Known) -> Found:
    """Repairs of defects are recorded; modifications, and the approval of either, are not."""
    done = Table(
        title=f"Repairs of defects {since_then(known.since)}",
        columns=("Defect", "Work", "Data used", "Closed"),
        rows=tuple(
            (f"{one.number} {one_line(one.description)}", one.work_done, one.data_used, day(one.closed_on))
            for one in known.closed
            if one.work_done
        ),
    )
    note = "The service keeps no register of modifications and repairs with their approved data: show it."
    return Found(notes=(note,), tables=tables(done))


def _work(one: WorkKnown) -> tuple[str, ...]:
    return day(one.on), one.what, one.data_used, one.done_by, one.signed_by or "not signed here: taken over"


def _released(one: ClosedDefect) -> tuple[str, ...]:
    return day(one.closed_on), f"Defect {one.number}: {one.work_done}", one.data_used, one.done_by, _signatures(one)


def _signatures(one: ClosedDefect) -> str:
    return (
        f"{one.signed_by}; independently inspected by {one.independently_by}" if one.independently_by else one.signed_by
    )


def _uncertified(defect: DefectFact) -> str:
    unchecked = defect.independent_inspection is None and (defect.item is None or defect.item.critical)
    lacking = ", nor inspected independently" if unchecked else ""
    return f"{named(defect)}: work was done on it and is not released to service{lacking}."


def certified(known: Known) -> Found:
    """Maintenance has been certified, released to service."""
    rows = [*map(_work, known.work), *(_released(one) for one in known.closed if one.work_done)]
    done = Table(
        title=f"Certified {since_then(known.since)}",
        columns=("Done", "Work", "Data used", "By", "Signed by"),
        rows=tuple(sorted(rows)),
    )
    notes = [] if rows else [f"No maintenance is recorded {since_then(known.since)}: show the maintenance records."]
    if not all(one.signed_by for one in known.work):
        notes.append("What was taken over is signed in earlier records: show them.")
    return Found(
        open=tuple(_uncertified(defect) for defect in known.facts.defects if defect.work_unreleased),
        notes=tuple(notes),
        tables=tables(done),
        evidence=any(one.signed_by for one in known.work) or any(one.work_done for one in known.closed),
    )
