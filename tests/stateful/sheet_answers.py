"""Random answers to a sheet, and whether they complete it: from the design's words, not from the service's code."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from uuid import UUID

from hypothesis import strategies as st

from inspections.models import SheetLine
from inspections.services.lines import Sent

FLAWS = ("not_checked", "defect", "not_applicable", "outside", "left out", "not measured")


def _good(line: SheetLine) -> Sent:
    value = line.minimum or Decimal(1) if line.quantity else None
    return Sent(item=line.code, outcome="satisfactory", value=value, unit=line.unit if line.quantity else "")


def _spoilt(sent: Sent, flaw: str) -> Sent:
    if flaw == "outside":
        return replace(sent, value=Decimal(9)) if sent.value is not None else sent
    if flaw == "not measured":
        return replace(sent, value=None, unit="")
    return replace(sent, outcome=flaw)


@st.composite
def answers(draw: st.DrawFn, lines: Sequence[SheetLine]) -> list[Sent]:
    """Half of the time everything is in order; else up to two lines are not."""
    spoilt = draw(st.dictionaries(st.sampled_from([line.code for line in lines]), st.sampled_from(FLAWS), max_size=2))
    spoilt = spoilt if draw(st.booleans()) else {}
    given = [line for line in lines if spoilt.get(line.code) != "left out"]
    return [_spoilt(_good(line), spoilt[line.code]) if line.code in spoilt else _good(line) for line in given]


def is_complete(
    lines: Mapping[str, SheetLine], sent: Sequence[Sent], *, by: UUID, second: UUID | None, kind: str
) -> bool:
    """Every line has an outcome, a measured one its value, a two-person one another second person."""
    by_code = {one.item: one for one in sent}
    alone = second is None or second == by
    if second == by or (kind == "after_rigging" and alone):
        return False
    return all(_answered(line, by_code.get(code), alone) for code, line in lines.items())


def _answered(line: SheetLine, sent: Sent | None, alone: bool) -> bool:
    if sent is None or sent.outcome == "not_checked":
        return _is_outside(line, sent) and not (line.two_person and alone)
    if sent.outcome == "not_applicable" and not _is_outside(line, sent):
        return not (line.critical or line.ballast)
    unmeasured = line.quantity != "" and sent.value is None and sent.outcome == "satisfactory"
    return not unmeasured and not (line.two_person and alone)


def _is_outside(line: SheetLine, sent: Sent | None) -> bool:
    """A value outside the limits is a defect whatever outcome was sent."""
    return sent is not None and sent.value is not None and line.maximum is not None and sent.value > line.maximum


def knows_ballast(lines: Mapping[str, SheetLine], sent: Sequence[Sent]) -> bool | None:
    """None: the sheet does not ask."""
    asked = {code for code, line in lines.items() if line.ballast}
    return asked <= {one.item for one in sent if one.value is not None} if asked else None


def found_defective(lines: Mapping[str, SheetLine], sent: Sequence[Sent]) -> list[str]:
    """Codes of the lines that raise a defect."""
    return [one.item for one in sent if one.outcome == "defect" or _is_outside(lines[one.item], one)]
