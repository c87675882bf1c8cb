"""The next date on which something ends."""

from datetime import UTC, date, datetime

from fleet.airworthiness.evaluate import evaluate
from fleet.airworthiness.facts import Facts
from fleet.airworthiness.verdict import NextDue
from tests.airworthiness.builders import MOMENT, NOW, deferred, document, facts, policy

RADIO = document(id="radio", kind="radio_licence", expires_on=date(2026, 5, 15))


def due(known: Facts, now: datetime = NOW) -> NextDue | None:
    return evaluate(known, now).next_due


def test_the_soonest_end_comes_first() -> None:
    certificate = NextDue(
        title="Airworthiness review certificate", on=date(2027, 3, 31), subject_type="document", subject_id="arc"
    )
    deferral = NextDue(title="Deferral of defect 4", on=date(2026, 5, 20), subject_type="defect", subject_id="defect")
    licence = NextDue(title="Radio licence", on=date(2026, 5, 15), subject_type="document", subject_id="radio")
    assert due(facts()) == certificate
    assert due(facts(defects=(deferred(),))) == deferral
    assert due(facts(defects=(deferred(),), documents=(document(), RADIO))) == licence


def test_nothing_ends() -> None:
    without_expiry = (document(expires_on=None),)
    assert due(facts(documents=without_expiry)) is None
    assert due(facts(documents=without_expiry, defects=(deferred(in_force=False),))) is None
    by_usage = deferred(until_at=None, until_date=None, until_launches=2_100)
    assert due(facts(documents=without_expiry, defects=(by_usage,))) is None
    undated = deferred(until_date=None)
    assert due(facts(documents=without_expiry, defects=(undated,))) is None


def test_what_has_ended_is_not_due_any_more() -> None:
    known = facts(documents=(document(), RADIO), last_complete_daily=None, last_daily=None)
    over = datetime(2026, 5, 15, 22, 0, tzinfo=UTC)
    before, after = due(known, over - MOMENT), due(known, over)
    assert before is not None and before.subject_id == "radio"
    assert after is not None and after.subject_id == "arc"
    assert evaluate(known, NOW).valid_until == over


def test_equal_dates_are_ordered_by_title_and_subject() -> None:
    same = date(2026, 6, 1)
    documents = (
        document(id="b", kind="insurance", expires_on=same),
        document(id="a", kind="weighing_report", expires_on=same),
        document(id="c", kind="insurance", expires_on=same),
    )
    known = facts(documents=documents, policy=policy(required_documents=()))
    for order in (documents, documents[::-1]):
        soonest = due(facts(documents=order, policy=known.policy))
        assert soonest is not None and soonest.subject_id == "b"


def test_a_date_that_cannot_be_computed_grounds() -> None:
    endless = document(id="x", kind="radio_licence", expires_on=date.max)
    verdict = evaluate(facts(documents=(document(), endless)), NOW)
    assert verdict.next_due is None
    assert [reason.rule for reason in verdict.reasons] == ["rule_error", "rule_error"]
    assert [error.split(":")[0] for error in verdict.errors] == ["next_due", "turns"]
