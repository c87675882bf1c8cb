"""The machine over HTTP: the same acts and invariants, looks through the API, and requests that make no sense."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any, ClassVar
from urllib.parse import quote
from uuid import UUID, uuid4

from hypothesis import strategies as st
from hypothesis.stateful import rule

from fleet.models import Membership
from tests.stateful import snapshot
from tests.stateful.over_http import OverHttp
from tests.stateful.time_acts import TimeActs

TOLD = ("status", "ready_today", "reasons", "limitations")
SPOILT: list[Any] = [None, "", " ", 7, -1, [], {}, "2025-13-01", "\x00", "x" * 5000, True, str(uuid4()), "9" * 400]


class HttpActs(TimeActs):
    """``way`` and ``clerks`` (somebody in each club who may read, and never loses that) are set by the test."""

    way: ClassVar[OverHttp]
    clerks: ClassVar[tuple[Membership, Membership]]

    def check(self) -> dict[UUID, dict[str, Any]]:
        """Besides: the board, each aircraft and a past instant tell the same."""
        shown = super().check()
        for clerk in self.clerks:
            board = self.way.request(clerk, self.now, "get", "board").json()["results"]
            own = {one.id for one in self.world.aircraft if one.club_id == clerk.club_id}
            assert {UUID(row["aircraft"]) for row in board} == own
            for row in board:
                _compare(row, shown[UUID(row["aircraft"])])
        self._look_back(shown)
        return shown

    def _look_back(self, shown: Mapping[UUID, Mapping[str, Any]]) -> None:
        """One aircraft now, and as it was at one of the instants at which somebody looked."""
        turn = self.tally["checked"]
        aircraft = self.world.aircraft[turn % len(self.world.aircraft)]
        clerk = next(one for one in self.clerks if one.club_id == aircraft.club_id)
        path = f"aircraft/{aircraft.id}/airworthiness"
        _compare(self.way.request(clerk, self.now, "get", path).json(), shown[aircraft.id])
        looks = self.log[aircraft.id]
        instant = list(looks)[turn % len(looks)]
        past = self.way.request(clerk, self.now, "get", f"{path}?at={quote(instant.isoformat())}").json()
        near = [
            one for at, listed in looks.items() if abs(at - instant) <= timedelta(microseconds=50) for one in listed
        ]
        assert any(all(past[name] == look[name] for name in TOLD) for look in near), (instant, past, near)

    @rule(data=st.data())
    def send_nonsense(self, data: st.DataObject) -> None:
        """One field of a good request is replaced or one is added: refused as the documented problem, without a trace."""
        by = data.draw(st.sampled_from(self.people), label="by")
        path, body = data.draw(st.sampled_from(self._good_requests()), label="request")
        field = data.draw(st.sampled_from([*body, "unheard_of"]), label="field")
        spoilt = data.draw(st.sampled_from(SPOILT), label="instead")
        if spoilt == body.get(field) or _may_be(field, spoilt):
            return
        response = self.way.request(by, self.now, "post", path, {**body, field: spoilt})
        assert 400 <= response.status_code < 500, (response.status_code, response.content)
        assert response["Content-Type"] == "application/problem+json"
        assert snapshot.take() == self.rows
        self.tally["nonsense"] += 1

    def _good_requests(self) -> list[tuple[str, dict[str, Any]]]:
        aircraft, now = str(self.world.aircraft[0].id), self.now.isoformat()
        flaw = next((str(one.id) for craft in self.crafts.values() for one in craft.flaws.values()), str(uuid4()))
        return [
            ("defects", {"aircraft": aircraft, "description": "x", "found_at": now}),
            ("rigging-events", {"aircraft": aircraft, "kind": "rigged", "occurred_at": now}),
            ("occurrences", {"aircraft": aircraft, "kind": "hail", "occurred_at": now, "description": "x"}),
            ("documents", {"aircraft": aircraft, "kind": "insurance", "issued_on": "2025-01-01"}),
            (f"defects/{flaw}/triage", {"assessment": "no_hazard", "justification": "x"}),
            (f"defects/{flaw}/independent-inspection", {"outcome": "accepted", "remark": "x"}),
        ]


def _may_be(field: str, value: object) -> bool:
    """Whether the value is a good one for a field of words after all."""
    return (
        field in ("description", "justification", "remark")
        and isinstance(value, str)
        and value.strip() not in ("", "\x00")
    )


def _compare(told: Mapping[str, Any], look: Mapping[str, Any]) -> None:
    for name in TOLD:
        assert told[name] == look[name], (name, told[name], look[name])
