"""The services as the stories speak to them: people by user name, one aircraft."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from config.demo.days import Days
from config.demo.history.answers import Changes, answers
from config.demo.usage import flying
from defects.models import Defect
from defects.services import decisions, reports, work
from fleet.models import Aircraft, Membership, UsageEntry
from fleet.services import usage
from inspections import selectors
from inspections.models import InspectionKind, Occurrence
from inspections.services import events, records
from inspections.services.records import Recorded

EACH_LINE = timedelta(seconds=20)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One aircraft, the people of its club, and the calendar."""

    aircraft: Aircraft
    members: Mapping[str, Membership]
    days: Days

    def walk(
        self,
        at: datetime,
        by: str,
        second: str | None = None,
        *,
        kind: str = InspectionKind.DAILY,
        occurrence: Occurrence | None = None,
        changes: Changes | None = None,
    ) -> Recorded:
        """An inspection completed at this instant; every line satisfactory but for the changes."""
        sheet = selectors.current_sheet(self.aircraft.aircraft_type, kind)
        lines = list(sheet.lines.order_by("position"))
        return records.record(
            aircraft_id=self.aircraft.id,
            by=self.members[by],
            at=at,
            kind=kind,
            started_at=self.days.begun(at, EACH_LINE * len(lines)),
            completed_at=at,
            results=answers(lines, changes or {}),
            second_person=self.members[second].id if second else None,
            occurrence_id=occurrence.id if occurrence else None,
        )

    def fly(self, days_ago: int, by: str, minutes: int, launches: int) -> None:
        """The flying of an earlier day, recorded that evening."""
        line = flying(self.aircraft.aircraft_type.category, self.days.day(-days_ago), minutes, launches)
        usage.record(
            aircraft_id=self.aircraft.id,
            by=self.members[by],
            at=self.days.ago(days_ago, "19:30"),
            lines=[line],
            source=UsageEntry.Source.MANUAL,
        )

    def flying_day(self, days_ago: int, by: str, minutes: int, launches: int, second: str | None = None) -> None:
        """Inspected in the morning and flown."""
        self.walk(self.days.ago(days_ago, "09:00"), by, second)
        self.fly(days_ago, by, minutes, launches)

    def report(self, at: datetime, by: str, item_code: str | None, description: str, **more: Any) -> Defect:
        """A defect found at this instant."""
        return reports.report(
            aircraft_id=self.aircraft.id,
            by=self.members[by],
            at=at,
            found_at=at,
            item_code=item_code,
            description=description,
            **more,
        ).defect

    def triage(self, defect: Defect, at: datetime, by: str, assessment: str, justification: str, **more: Any) -> None:
        """Somebody's assessment."""
        decisions.triage(
            defect_id=defect.id,
            by=self.members[by],
            at=at,
            assessment=assessment,
            justification=justification,
            **more,
        )

    def defer(self, defect: Defect, at: datetime, by: str, until: date, limitation: str, justification: str) -> None:
        """Flown on with until the end of this day."""
        decisions.defer(
            defect_id=defect.id,
            by=self.members[by],
            at=at,
            limitations=[limitation],
            basis="Defect policy of the club",
            justification=justification,
            until_date=until,
        )

    def withdraw(self, defect: Defect, at: datetime, by: str, justification: str) -> None:
        """The deferral ends early."""
        decisions.withdraw_deferral(defect_id=defect.id, by=self.members[by], at=at, justification=justification)

    def rectify(
        self,
        defect: Defect,
        at: datetime,
        by: str,
        work_done: str,
        *,
        supervised_by: str | None = None,
        parts: Sequence[str] = (),
        measurements: Sequence[work.Measurement] = (),
    ) -> None:
        """The work, done and recorded at this instant."""
        work.rectify(
            defect_id=defect.id,
            by=self.members[by],
            at=at,
            work_done=work_done,
            data_used=f"Maintenance manual of the {self.aircraft.aircraft_type.designation}",
            performed_at=at,
            supervised_by=self.members[supervised_by].id if supervised_by else None,
            parts=parts,
            measurements=measurements,
        )

    def check(self, defect: Defect, at: datetime, by: str, remark: str) -> None:
        """An independent inspection that accepts the work."""
        work.inspect_independently(defect_id=defect.id, by=self.members[by], at=at, outcome="accepted", remark=remark)

    def release(self, defect: Defect, at: datetime, by: str) -> None:
        """Released to service: nobody signs here, so the password that the page asks for counts as given."""
        work.release(defect_id=defect.id, by=self.members[by], at=at, reauthenticated=True, statement_accepted=True)

    def rigging(self, at: datetime, by: str, kind: str) -> None:
        """Rigged or derigged."""
        events.record_rigging(aircraft_id=self.aircraft.id, by=self.members[by], at=at, kind=kind, occurred_at=at)

    def occurrence(self, at: datetime, by: str, kind: str, description: str, occurred_at: datetime) -> Occurrence:
        """Something happened that calls for an unscheduled inspection."""
        reported, _verdict = events.report_occurrence(
            aircraft_id=self.aircraft.id,
            by=self.members[by],
            at=at,
            kind=kind,
            occurred_at=occurred_at,
            description=description,
        )
        return reported

    def defect(self, recorded: Recorded) -> Defect:
        """The one defect that an inspection raised."""
        (found,) = recorded.defects
        return found
