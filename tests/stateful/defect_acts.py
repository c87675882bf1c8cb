"""Rules of the machine: reports and the acts on defects, with legal and illegal payloads."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from fleet.models import Authorisation, Membership, Privilege, Role
from tests.factories import MEASURED, PLAIN
from tests.stateful.oracle import CLOSED, Craft, Deferred, Flaw
from tests.stateful.watch import Watched

DECIDERS = (Role.TECHNICAL_OFFICER, Role.INSPECTOR)
AGO = st.sampled_from(
    [
        timedelta(0),
        timedelta(minutes=1),
        timedelta(minutes=-4),
        timedelta(minutes=1),
        timedelta(hours=3),
        timedelta(days=2),
    ]
)
TOO_FAR_AHEAD = timedelta(minutes=-6)
LAG = st.sampled_from([timedelta(0)] * 7 + [timedelta(seconds=2), timedelta(minutes=4)])
RISK = st.sampled_from([("", None)] * 9 + [("A", 5), ("E", 1), ("C", 3), ("A", None), ("", 2)])
IN_ORDER = {
    "reported": ("triage",),
    "assessed": ("rectify", "rectify", "defer", "defer", "triage"),
    "deferred": ("rectify", "withdraw"),
    "rectified": ("inspect", "inspect", "release"),
    "released": ("report",),
    "no_defect": ("report",),
}
ANY_ACT = st.sampled_from(["triage", "defer", "withdraw", "rectify", "inspect", "release"])


class DefectActs(Watched):
    """Everything that people do about what is wrong."""

    @rule(data=st.data(), lag=LAG)
    def report(self, data: st.DataObject, lag: timedelta = timedelta(0)) -> None:
        """Also through a server whose clock lags: it counts at once, and its instant is that server's."""
        craft_id, craft = self.a_craft(data)
        if lag:
            self.go_to(self.now + timedelta(milliseconds=1))
        self._report(data, craft_id, craft, follows=None, at=self.now - lag)

    def _report(self, data: st.DataObject, craft_id: UUID, craft: Craft, *, follows: UUID | None, at: datetime) -> None:
        by = self.somebody(data, self.club_of(craft_id), Role.PILOT)
        item = data.draw(st.sampled_from([*craft.items, None]), label="item")
        found_at = at - data.draw(AGO if self.mostly(data) else st.just(TOO_FAR_AHEAD), label="found ago")
        flaw = Flaw(uuid4(), item, found_at, at, at if craft.is_critical(item) else None)
        acted = self.act(
            "report",
            by,
            lambda: self.way.report(
                by,
                at,
                aircraft_id=craft_id,
                description="Looks wrong.",
                found_at=found_at,
                item_code=item,
                follows=follows,
                defect_id=flaw.id,
            ),
        )
        if acted:
            self.only_own_club(by, craft_id)
            assert found_at <= at + timedelta(minutes=5)
            craft.flaws[flaw.id] = flaw
            self.forget_looks_after(at)
            self.settle(better=False)

    @precondition(lambda self: self.any_flaws())
    @rule(data=st.data())
    def act_on_defect(self, data: st.DataObject) -> None:
        craft_id, craft, flaw = self.a_flaw(data)
        code = data.draw(st.sampled_from(_next_acts(flaw)) if self.mostly(data) else ANY_ACT, label="act")
        if code == "report":
            self._report(data, craft_id, craft, follows=flaw.id, at=self.now)
        else:
            getattr(self, f"_{code}")(data, craft_id, craft, flaw)

    @precondition(lambda self: self.any_flaws())
    @rule(data=st.data())
    def take_further(self, data: st.DataObject) -> None:
        """The same, by people who may and as it should be done, so that defects come far."""
        self.proper = True
        self.act_on_defect(data)
        self.proper = False

    @precondition(lambda self: self.any_flaws())
    @rule(data=st.data())
    def take_still_further(self, data: st.DataObject) -> None:
        self.take_further(data)

    @precondition(lambda self: self.any_flaws())
    @rule(data=st.data())
    def take_furthest(self, data: st.DataObject) -> None:
        self.take_further(data)

    def _triage(self, data: st.DataObject, craft_id: UUID, craft: Craft, flaw: Flaw) -> None:
        by = self.somebody(data, self.club_of(craft_id), *DECIDERS)
        found = data.draw(
            st.sampled_from(["no_hazard", "no_hazard", "no_hazard", "hazard", "no_defect"]), label="found"
        )
        right = None if flaw.item else PLAIN
        item = data.draw(st.sampled_from([right] if self.proper else [right, None, *craft.items]), label="moved to")
        severity, likelihood = data.draw(RISK if not self.proper else st.just(("", None)))
        acted = self.act(
            "triage",
            by,
            lambda: self.way.act_on_defect(
                "triage",
                by,
                self.now,
                defect_id=flaw.id,
                assessment=found,
                justification="Looked at it.",
                item_code=item,
                severity=severity,
                likelihood=likelihood,
            ),
        )
        if not acted:
            return
        self.only_own_club(by, craft_id)
        flaw.item = item or flaw.item
        if flaw.touched_critical_at is None and craft.is_critical(flaw.item):
            flaw.touched_critical_at = self.now
        flaw.assessed_at, flaw.hazard = flaw.assessed_at or self.now, found == "hazard"
        assert not (found == "no_defect" and flaw.work), "closed as no defect, with work that nobody released"
        flaw.state = "no_defect" if found == "no_defect" else "assessed"
        self.settle()

    def _defer(self, data: st.DataObject, craft_id: UUID, craft: Craft, flaw: Flaw) -> None:
        by = self.somebody(data, self.club_of(craft_id), *DECIDERS)
        days = data.draw(st.sampled_from([1, 0, 3, 10] if self.proper else [1, 0, 10, None, -1]), label="days")
        until = None if days is None else craft.settings.day(self.now) + timedelta(days=days)
        launches = None if self.mostly(data) else 12
        limitations = ["no aerobatics"] if self.mostly(data) else []
        acted = self.act(
            "defer",
            by,
            lambda: self.way.act_on_defect(
                "defer",
                by,
                self.now,
                defect_id=flaw.id,
                limitations=limitations,
                basis="club defect policy",
                justification="No influence.",
                until_date=until,
                until_launches=launches,
            ),
        )
        if acted:
            self.only_own_club(by, craft_id)
            assert not (craft.is_critical(flaw.item) or flaw.hazard or flaw.work), "deferred what may not be"
            flaw.state, flaw.deferred = "deferred", Deferred(until, by_usage=launches is not None)
            self.settle()

    def _withdraw(self, data: st.DataObject, craft_id: UUID, craft: Craft, flaw: Flaw) -> None:
        by = self.somebody(data, self.club_of(craft_id), *DECIDERS)
        acted = self.act(
            "withdraw",
            by,
            lambda: self.way.act_on_defect("withdraw", by, self.now, defect_id=flaw.id, justification="Thought again."),
        )
        if acted:
            self.only_own_club(by, craft_id)
            end_deferral(craft, flaw, self.now)
            flaw.state = "assessed"
            self.settle()

    def _rectify(self, data: st.DataObject, craft_id: UUID, craft: Craft, flaw: Flaw) -> None:
        by = self.somebody(data, self.club_of(craft_id), Role.INSPECTOR, Role.PILOT)
        nobody_named = self.mostly(data)
        worker = None if nobody_named else self.somebody(data, self.club_of(craft_id), Role.PILOT)
        named = not by.holds(Role.INSPECTOR) if self.mostly(data) else data.draw(st.booleans(), label="chief named")
        chief = self.somebody(data, self.club_of(craft_id), Role.INSPECTOR) if named else None
        measured = data.draw(_measured(flaw.item, self.proper), label="measured")
        performed_at = self.now - (timedelta(0) if self.mostly(data) else data.draw(AGO, label="performed ago"))
        acted = self.act(
            "rectify",
            by,
            lambda: self.way.act_on_defect(
                "rectify",
                by,
                self.now,
                defect_id=flaw.id,
                work_done="Repaired.",
                data_used="Manual, chapter 4",
                performed_at=performed_at,
                performed_by=worker.id if worker else None,
                supervised_by=chief.id if chief else None,
                measurements=measured,
            ),
        )
        if not acted:
            return
        self.only_own_club(by, craft_id)
        self.only_own_club(chief or by, craft_id)
        assert any(one.holds(Role.INSPECTOR) for one in (by, worker, chief) if one), (
            "work that no inspector answers for"
        )
        if flaw.state == "deferred":
            end_deferral(craft, flaw, self.now)
        flaw.state, flaw.checked_by = "rectified", None
        flaw.work = [one.id for one in (by, worker, chief) if one]
        flaw.work_on_critical = craft.is_critical(flaw.item)
        if flaw.work_on_critical:
            flaw.critical_work_at.append(performed_at)
        self.settle()

    def _inspect(self, data: st.DataObject, craft_id: UUID, craft: Craft, flaw: Flaw) -> None:
        by = self.somebody(data, self.club_of(craft_id), *DECIDERS, authorised=Privilege.INDEPENDENT_INSPECTION)
        outcome = data.draw(st.sampled_from(["accepted", "accepted", "rejected"]), label="outcome")
        acted = self.act(
            "inspect independently",
            by,
            lambda: self.way.act_on_defect("inspect", by, self.now, defect_id=flaw.id, outcome=outcome, remark="Seen."),
        )
        if acted:
            self.only_own_club(by, craft_id)
            assert by.id not in flaw.work, "inspected by somebody who had a hand in the work"
            assert self.authorised(by, Privilege.INDEPENDENT_INSPECTION, craft)
            if outcome == "accepted":
                flaw.checked_by = by.id
            else:
                flaw.state = "assessed"
            self.settle()

    def _release(self, data: st.DataObject, craft_id: UUID, craft: Craft, flaw: Flaw) -> None:
        by = self.somebody(data, self.club_of(craft_id), Role.INSPECTOR, authorised=Privilege.RELEASE)
        signed, accepted = self.mostly(data), self.mostly(data)
        acted = self.act(
            "release",
            by,
            lambda: self.way.act_on_defect(
                "release", by, self.now, defect_id=flaw.id, reauthenticated=signed, statement_accepted=accepted
            ),
        )
        if acted:
            self.only_own_club(by, craft_id)
            assert signed, "released without the password"
            assert accepted, "released without accepting the statement"
            assert flaw.item is not None, "released, and nobody said which item"
            assert by.holds(Role.INSPECTOR), "released by somebody who is no inspector"
            assert self.authorised(by, Privilege.RELEASE, craft)
            if craft.is_critical(flaw.item) or flaw.work_on_critical:
                assert flaw.checked_by is not None, "released without an independent inspection"
                assert flaw.checked_by not in flaw.work
                self.tally["critical released"] += 1
            flaw.state = "released"
            self.settle()

    # candidates

    def any_flaws(self) -> bool:
        return any(craft.flaws for craft in self.crafts.values())

    def a_craft(self, data: st.DataObject) -> tuple[UUID, Craft]:
        """Mostly the first, so that much happens to one aircraft."""
        ids = list(self.crafts)
        craft_id = data.draw(st.sampled_from([ids[0], ids[0], ids[0], *ids]), label="aircraft")
        return craft_id, self.crafts[craft_id]

    def a_flaw(self, data: st.DataObject) -> tuple[UUID, Craft, Flaw]:
        """Mostly an open one, those that have come far first."""
        pairs = [(craft_id, craft, flaw) for craft_id, craft in self.crafts.items() for flaw in craft.flaws.values()]
        still_open = [pair for pair in pairs if pair[2].state not in CLOSED]
        far = [pair for pair in still_open if pair[2].state in ("deferred", "rectified")]
        choices = [far or pairs, still_open or pairs, still_open or pairs, pairs]
        chosen = choices[data.draw(st.integers(0, len(choices) - 1), label="which defects")]
        return data.draw(st.sampled_from(chosen), label="defect")

    def club_of(self, craft_id: UUID) -> UUID:
        return next(one.club_id for one in self.world.aircraft if one.id == craft_id)

    def only_own_club(self, by: Membership, craft_id: UUID) -> None:
        assert by.active, "done by somebody who has left"
        assert by.club_id == self.club_of(craft_id), "done by somebody of another club"
        assert set(by.roles) != {Role.AUDITOR}, "an auditor changed something"

    def authorised(self, by: Membership, privilege: str, craft: Craft) -> bool:
        """In date, not revoked, with the privilege: read from the rows."""
        today = craft.settings.day(self.now)
        held = Authorisation.objects.filter(membership_id=by.id).values(
            "privileges", "valid_from", "valid_until", "revoked_at"
        )
        return any(
            privilege in one["privileges"]
            and one["valid_from"] <= today <= one["valid_until"]
            and not one["revoked_at"]
            for one in held
        )


def end_deferral(craft: Craft, flaw: Flaw, now: datetime) -> None:
    """A limit that had passed by the end, or may have, keeps counting."""
    if flaw.deferred and not flaw.deferred.ended:
        over = flaw.deferred.last_day is not None and craft.settings.day(now) > flaw.deferred.last_day
        flaw.deferred.ended, flaw.deferred.past = True, over or flaw.deferred.by_usage


def _next_acts(flaw: Flaw) -> tuple[str, ...]:
    return ("release",) if flaw.state == "rectified" and flaw.checked_by else IN_ORDER[flaw.state]


def _measured(item: str | None, proper: bool) -> st.SearchStrategy[list[dict[str, Any]]]:
    good = {"quantity": "pressure", "value": Decimal("3.2"), "unit": "bar"}
    if item != MEASURED:
        return st.just([])
    if proper:
        return st.just([good])
    return st.sampled_from([[good], [good], [], [good | {"value": Decimal("4.1")}], [good | {"unit": "kg"}]])
