"""The record in plain sentences."""

from typing import Any

import pytest

from fleet.sentences import FORMS, sentence
from inspections.sentences import SENTENCES


@pytest.mark.parametrize(
    ("kind", "data", "expected"),
    [
        (
            "item_change",
            {"item": "tape", "critical": {"before": False, "after": True}, "maximum": {"before": None, "after": "2.5"}},
            "Item tape of the type changed: critical from no to yes; maximum from none to 2.5.",
        ),
        (
            "club_settings_change",
            {"required_documents": {"before": ["insurance"], "after": []}, "repeat_count": {"before": 3, "after": 4}},
            "Settings of the club changed: required documents from insurance to none; repeat count from 3 to 4.",
        ),
        (
            "document_change",
            {"kind": "radio_licence", "reference": {"before": "", "after": "R\n2"}},
            "Radio licence corrected: reference from blank to R 2.",
        ),
        (
            "document_add",
            {"kind": "weighing_report", "issued_on": "2025-02-01", "expires_on": None},
            "Weighing report recorded: issued on 2025-02-01.",
        ),
        (
            "attachment_add",
            {"to": "inspection", "content_type": "application/pdf", "caption": ""},
            "Attached to this inspection: application/pdf.",
        ),
        (
            "airworthiness_changed",
            {"status_before": "limited", "status": "grounded", "ready_today": False},
            "Now shown as grounded, not ready today; before as limited.",
        ),
        ("inspection_daily", {"complete": True, "missing": []}, "Daily inspection, complete."),
        (
            "inspection_periodic",
            {"complete": False, "missing": ["canopy", "tape"]},
            "Periodic inspection, incomplete; missing: canopy, tape.",
        ),
        ("defect_expire", {"number": 4}, "The deferral of defect 4 has run out."),
        ("flag_deferral_ending", {"message": "It ends tomorrow."}, "Flagged: It ends tomorrow."),
        ("aircraft_derigged", {"occurred_at": "2025-05-14T09:05:00Z"}, "Derigged at 2025-05-14 09:05 UTC."),
        ("something_new", {"x": 1}, "Something new."),
    ],
)
def test_sentences(kind: str, data: dict[str, Any], expected: str) -> None:
    assert sentence(kind, data, SENTENCES) == expected


def test_what_people_wrote_is_no_template() -> None:
    data = {"number": 1, "description": "{number} {0} {all:changes} %s\u2028 end"}
    assert sentence("defect_report", data, SENTENCES) == "Defect 1 reported: {number} {0} {all:changes} %s end"


def test_a_value_that_is_missing_leaves_nothing() -> None:
    assert sentence("defect_defer", {}, SENTENCES) == "Defect  deferred with limitations: "


@pytest.mark.parametrize("template", SENTENCES.values(), ids=SENTENCES)
def test_every_template_can_be_filled(template: str) -> None:
    told = sentence("any", {}, {"any": template})
    assert told
    assert "{" not in told
    forms = [part.partition("}")[0].partition(":")[2] for part in template.split("{")[1:]]
    assert set(forms) <= FORMS.keys()
