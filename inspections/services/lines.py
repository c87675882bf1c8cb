"""Judging the lines of a sheet: outcome, measured value, second person, what is missing. No database."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from defects.models import Defect
from fleet.airworthiness.quantities import convert, within
from fleet.errors import invalid
from inspections.models import InspectionKind, Outcome, SheetLine

LARGEST = Decimal(10) ** 8  # what the columns hold: in the unit of the line,
LARGEST_SENT = Decimal(10) ** 10  # and as it was sent
SECOND_PERSON = "second_person"  # stands among the missing codes when the inspection as a whole lacks one


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One result as it was sent."""

    item: str
    outcome: str
    value: Decimal | None = None
    unit: str = ""
    remark: str = ""
    second_person: UUID | None = None
    description: str = ""
    damage_kind: str = ""
    size_mm: Decimal | None = None
    position: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One line with its outcome as it counts; ``value`` in the unit of the line."""

    line: SheetLine
    sent: Sent
    outcome: str
    value: Decimal | None
    second_person: UUID | None

    def measured_in_words(self) -> str:
        """The value with its unit and limits."""
        if self.value is None:
            return ""
        limits = [
            f"{name} {limit.normalize():f}"
            for name, limit in (
                ("minimum", self.line.minimum),
                ("maximum", self.line.maximum),
            )
            if limit is not None
        ]
        return f"{self.line.quantity} {self.value.normalize():f} {self.line.unit}" + (
            f" ({', '.join(limits)})" if limits else ""
        )

    def defect_description(self) -> str:
        """The pilot's words, or what was measured, or the name of the line."""
        words = self.sent.description or self.sent.remark
        inside = self.value is None or within(self.value, self.line.minimum, self.line.maximum)
        measured = "" if inside else self.measured_in_words()
        return "; ".join(part for part in (words, measured) if part) or f"{self.line.title}: not satisfactory"

    def as_data(self, defect: Defect | None) -> dict[str, Any]:
        """For the event record."""
        return {
            "item": self.line.code,
            "outcome": self.outcome,
            "value": self.value,
            "unit": self.line.unit if self.value is not None else "",
            "remark": self.sent.remark,
            "second_person": self.second_person,
            "defect": defect.id if defect else None,
        }


def _value(number: int, line: SheetLine, sent: Sent) -> Decimal | None:
    if sent.value is None:
        return None
    if not line.measured:
        raise invalid(
            f"/results/{number}/measurement",
            "not_measured",
            f"{line.title} is not measured. Use the remark.",
        )
    try:
        value = convert(sent.value, sent.unit, line.unit)
    except ValueError as error:
        raise invalid(f"/results/{number}/measurement/unit", "unit", str(error)) from error
    if abs(value) >= LARGEST or abs(sent.value) >= LARGEST_SENT:
        raise invalid(
            f"/results/{number}/measurement/value",
            "too_large",
            "This value cannot be right. Measure again.",
        )
    return value


def _outcome(line: SheetLine, sent: Sent, value: Decimal | None) -> str:
    """Words about a defect, or a value outside the limits, count as a defect whatever outcome was sent."""
    outside = value is not None and not within(value, line.minimum, line.maximum)
    return Outcome.DEFECT if outside or sent.description else sent.outcome


def judge(lines: Sequence[SheetLine], results: Sequence[Sent], *, second_person: UUID | None) -> list[Judged]:
    """Match results to lines by item code. Raises Invalid for an item that is not on the sheet or stands twice."""
    by_code = {line.code: line for line in lines}
    judged: dict[str, Judged] = {}
    for number, sent in enumerate(results):
        line = by_code.get(sent.item)
        if line is None:
            raise invalid(
                f"/results/{number}/item",
                "not_on_sheet",
                f"The sheet has no line {sent.item!r}.",
            )
        if sent.item in judged:
            raise invalid(
                f"/results/{number}/item",
                "twice",
                f"The line {sent.item!r} was answered already.",
            )
        value = _value(number, line, sent)
        judged[sent.item] = Judged(
            line=line,
            sent=sent,
            outcome=_outcome(line, sent, value),
            value=value,
            second_person=(sent.second_person or second_person) if line.two_person else sent.second_person,
        )
    return list(judged.values())


def _answered(line: SheetLine, one: Judged | None, inspector: UUID) -> bool:
    if one is None or one.outcome == Outcome.NOT_CHECKED:
        return False
    if one.outcome == Outcome.NOT_APPLICABLE:
        return not (line.critical or line.ballast)
    if line.measured and one.value is None and one.outcome == Outcome.SATISFACTORY:
        return False
    return not line.two_person or (one.second_person is not None and one.second_person != inspector)


def missing_codes(
    lines: Sequence[SheetLine],
    judged: Sequence[Judged],
    *,
    inspector: UUID,
    second_person: UUID | None,
    kind: str,
) -> list[str]:
    """Codes of required lines without a valid answer, in the order of the route.

    A critical or a ballast line cannot be "not applicable": that would be a way round it.
    """
    by_code = {one.line.code: one for one in judged}
    missing = [line.code for line in lines if line.required and not _answered(line, by_code.get(line.code), inspector)]
    named = {one.second_person for one in judged if one.second_person} | {second_person}
    if kind == InspectionKind.AFTER_RIGGING and not (named - {inspector, None}):
        missing.append(SECOND_PERSON)
    if second_person == inspector and SECOND_PERSON not in missing:
        missing.append(SECOND_PERSON)
    return missing


def ballast_known(lines: Sequence[SheetLine], judged: Sequence[Judged]) -> bool | None:
    """Whether every ballast line records an amount; None when the sheet has no ballast line."""
    wanted = {line.code for line in lines if line.ballast}
    if not wanted:
        return None
    return wanted <= {one.line.code for one in judged if one.value is not None}
