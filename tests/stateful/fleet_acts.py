"""Rules of the machine: inspections, rigging, occurrences, documents, items, settings, members."""

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import rule

from fleet.models import Authorisation, Privilege, Role
from tests.stateful.defect_acts import AGO, DefectActs
from tests.stateful.oracle import Flaw, Paper, Walk
from tests.stateful.sheet_answers import answers, found_defective, is_complete, knows_ballast

WALKERS = (Role.PILOT, Role.TECHNICAL_OFFICER, Role.INSPECTOR)
KEEPERS = (Role.TECHNICAL_OFFICER, Role.ADMINISTRATOR)
KINDS = st.sampled_from(["daily", "daily", "after_rigging", "unscheduled"])
DOCUMENT_KINDS = st.sampled_from(["insurance", "airworthiness_review_certificate", "radio_licence"])
TRAITS = st.sampled_from(["critical", "deferrable", "two_person"])


class FleetActs(DefectActs):
    """Everything else that people do."""

    @rule(data=st.data(), kind=KINDS)
    def inspect(self, data: st.DataObject, kind: str) -> None:
        craft_id, craft = self.a_craft(data)
        role, privilege = (Role.INSPECTOR, Privilege.RELEASE) if kind == "unscheduled" else (Role.PILOT, "")
        by = self.somebody(data, self.club_of(craft_id), role, authorised=privilege)
        second = self.somebody(data, self.club_of(craft_id), Role.PILOT).id if self.mostly(data) else None
        fitting = [one for one in self.world.sheets if one.aircraft_type_id == self.type_of(craft_id)]
        sheet = data.draw(st.sampled_from([one for one in fitting if one.kind == _sheet_kind(kind)]), label="sheet")
        lines = self.lines[sheet.id]
        sent = data.draw(answers(list(lines.values())), label="answers")
        unanswered = [one for one in craft.occurrences if one not in craft.answered]
        occurrence = (
            data.draw(st.sampled_from([*unanswered, None]), label="answers what") if kind == "unscheduled" else None
        )
        completed = self.now - data.draw(AGO, label="completed ago")
        started = completed - data.draw(st.sampled_from([timedelta(minutes=20), timedelta(0), timedelta(hours=5)]))
        recorded = self.act(
            "inspection",
            by,
            lambda: self.way.inspect(
                by,
                self.now,
                aircraft_id=craft_id,
                kind=kind,
                started_at=started,
                completed_at=completed,
                results=sent,
                sheet_id=sheet.id,
                second_person=second,
                occurrence_id=occurrence,
            ),
        )
        if not recorded:
            return
        self.only_own_club(by, craft_id)
        complete = is_complete(lines, sent, by=by.id, second=second, kind=kind)
        assert recorded.complete == complete
        self.tally[f"{kind} {'complete' if complete else 'incomplete'}"] += 1
        assert sorted(code for _id, code in recorded.defects) == sorted(found_defective(lines, sent))
        for defect_id, code in recorded.defects:
            touched = self.now if craft.is_critical(code) else None
            craft.flaws[defect_id] = Flaw(defect_id, code, min(completed, self.now), self.now, touched)
        # nothing was inspected later than the service came to know of it
        walk = Walk(min(started, self.now), min(completed, self.now), self.now, complete, knows_ballast(lines, sent))
        if kind == "daily":
            craft.dailies.append(walk)
        elif kind == "after_rigging":
            craft.rig_checks.append(walk)
        elif complete and occurrence:
            assert by.holds(Role.INSPECTOR)
            assert self.authorised(by, Privilege.RELEASE, craft)
            craft.answered.add(occurrence)
        self.settle(better=complete)

    @rule(data=st.data(), what=st.sampled_from(["rigged", "derigged", "occurrence"]))
    def happen(self, data: st.DataObject, what: str) -> None:
        if what == "occurrence":
            self._occur(data)
        else:
            self._rig(data, what)

    def _rig(self, data: st.DataObject, kind: str) -> None:
        craft_id, craft = self.a_craft(data)
        by = self.somebody(data, self.club_of(craft_id), *WALKERS)
        occurred_at = self.now - data.draw(AGO, label="rigged ago")
        acted = self.act(
            "rig",
            by,
            lambda: self.way.rig(by, self.now, aircraft_id=craft_id, kind=kind, occurred_at=occurred_at),
        )
        if acted:
            self.only_own_club(by, craft_id)
            craft.riggings.append(occurred_at)
            self.settle(better=False)

    def _occur(self, data: st.DataObject) -> None:
        craft_id, craft = self.a_craft(data)
        by = self.somebody(data, self.club_of(craft_id), *WALKERS)
        occurred_at = self.now - data.draw(AGO, label="happened ago")
        occurrence_id = uuid4()
        acted = self.act(
            "occurrence",
            by,
            lambda: self.way.occur(
                by,
                self.now,
                aircraft_id=craft_id,
                kind="heavy_landing",
                occurred_at=occurred_at,
                description="Bounced.",
                occurrence_id=occurrence_id,
            ),
        )
        if acted:
            self.only_own_club(by, craft_id)
            craft.occurrences[occurrence_id] = (occurred_at, self.now)
            self.settle(better=False)

    @rule(data=st.data(), what=st.sampled_from(["change_document", "add_document", "change_item", "change_settings"]))
    def keep_papers(self, data: st.DataObject, what: str) -> None:
        getattr(self, f"_{what}")(data)

    @rule(data=st.data(), what=st.sampled_from(["change_item", "change_member", "end_authorisation"]))
    def keep_people(self, data: st.DataObject, what: str) -> None:
        getattr(self, f"_{what}")(data)

    def _add_document(self, data: st.DataObject) -> None:
        craft_id, craft = self.a_craft(data)
        kind = data.draw(DOCUMENT_KINDS, label="kind")
        by = self.somebody(data, self.club_of(craft_id), *KEEPERS)
        today = craft.settings.day(self.now)
        issued = today + timedelta(days=data.draw(st.sampled_from([0, -10, 3]), label="issued in"))
        last = data.draw(st.sampled_from([None, 0, 1, 40, -2]), label="expires in")
        expires = None if last is None else today + timedelta(days=last)
        acted = self.act(
            "add document",
            by,
            lambda: self.way.add_document(
                by, self.now, aircraft_id=craft_id, kind=kind, issued_on=issued, expires_on=expires
            ),
        )
        if acted:
            self.only_own_club(by, craft_id)
            craft.papers.append(Paper(acted, kind, issued, expires))
            self.settle()

    def _change_document(self, data: st.DataObject) -> None:
        craft_id, craft = self.a_craft(data)
        by = self.somebody(data, self.club_of(craft_id), *KEEPERS)
        paper = data.draw(st.sampled_from(craft.papers), label="paper")
        today = craft.settings.day(self.now)
        expires = data.draw(st.sampled_from([today, today + timedelta(days=1), None]))
        issued = data.draw(st.sampled_from([today + timedelta(days=2), today - timedelta(days=30)]))
        changes: dict[str, Any] = data.draw(
            st.sampled_from([{"withdrawn_at": self.now}, {"expires_on": expires}, {"issued_on": issued}]),
            label="changes",
        )

        if self.act("change document", by, lambda: self.way.change_document(by, self.now, paper.id, changes)):
            self.only_own_club(by, craft_id)
            paper.withdrawn = "withdrawn_at" in changes
            if "expires_on" in changes:
                paper.expires = expires
            if "issued_on" in changes:
                paper.issued = issued
            self.settle(better="withdrawn_at" not in changes)

    def _change_item(self, data: st.DataObject) -> None:
        craft_id, craft = self.a_craft(data)
        trait, value = data.draw(TRAITS, label="trait"), data.draw(st.booleans(), label="value")
        by = self.somebody(data, self.club_of(craft_id), *KEEPERS)
        code = data.draw(st.sampled_from(list(craft.items)), label="item")
        changes = {trait: value} | ({"deferrable": False} if trait == "critical" and value else {})
        type_id = self.type_of(craft_id)
        if self.act("change item", by, lambda: self.way.change_item(by, self.now, type_id, code, changes)):
            self.only_own_club(by, craft_id)
            stricter = (trait, value) != ("critical", False) and (trait, value) != ("deferrable", True)
            for name in set(changes) & {"critical", "deferrable"}:
                setattr(craft.items[code], name, changes[name])
            self.settle(better=not stricter)

    def _change_settings(self, data: st.DataObject) -> None:
        by = self.somebody(data, self.club_of(self.a_craft(data)[0]), Role.ADMINISTRATOR)
        wanted: dict[str, Any] = {
            "triage_limit_days": data.draw(st.integers(1, 4)),
            "decision_limit_days": data.draw(st.integers(1, 6)),
            "required_documents": data.draw(st.lists(DOCUMENT_KINDS, max_size=2, unique=True)),
        }
        changes = dict([data.draw(st.sampled_from(list(wanted.items())), label="setting")])

        if self.act("change settings", by, lambda: self.way.change_settings(by, self.now, changes)):
            own = next(one for one in self.world.aircraft if one.club_id == by.club_id)
            settings = self.crafts[own.id].settings
            settings.triage_days = changes.get("triage_limit_days", settings.triage_days)
            settings.decision_days = changes.get("decision_limit_days", settings.decision_days)
            settings.required = set(changes.get("required_documents", settings.required))
            self.settle()

    def _change_member(self, data: st.DataObject) -> None:
        club_id = self.club_of(self.a_craft(data)[0])
        by = self.somebody(data, club_id, Role.ADMINISTRATOR)
        member = self.somebody(data, by.club_id, Role.INSPECTOR, Role.PILOT)
        roles = data.draw(st.sampled_from([["pilot"], ["inspector"], ["pilot", "inspector"], member.roles]))
        changes = {"roles": roles, "active": self.mostly(data)}
        if self.act("change member", by, lambda: self.way.change_member(by, self.now, member.id, changes)):
            self.people = self._members()
            self.settle(better=False)

    def _end_authorisation(self, data: st.DataObject) -> None:
        by = self.somebody(data, self.club_of(self.a_craft(data)[0]), Role.ADMINISTRATOR)
        held = list(
            Authorisation.objects.filter(membership__club_id=by.club_id).order_by(
                "membership__person__username", "valid_until"
            )
        )
        one = data.draw(st.sampled_from(held), label="authorisation")
        if self.act("end authorisation", by, lambda: self.way.end_authorisation(by, self.now, one.id)):
            self.settle(better=False)

    def type_of(self, craft_id: UUID) -> UUID:
        return next(one.aircraft_type_id for one in self.world.aircraft if one.id == craft_id)


def _sheet_kind(kind: str) -> str:
    return "daily" if kind == "unscheduled" else kind
