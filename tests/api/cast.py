"""A club with one member of each role and a program for each, and what every resource's tests ask of the HTTP side."""

from dataclasses import dataclass
from typing import Any

from rest_framework.test import APIClient

from fleet.models import Club, Membership, Role
from tests.api.clients import client_of, problem
from tests.factories import ClubFactory, InspectorFactory, MemberFactory


@dataclass(frozen=True, slots=True)
class Cast:
    """The people of a club, and their programs by role."""

    club: Club
    members: dict[Role, Membership]
    programs: dict[Role, APIClient]

    @property
    def pilot(self) -> APIClient:
        return self.programs[Role.PILOT]

    @property
    def officer(self) -> APIClient:
        return self.programs[Role.TECHNICAL_OFFICER]

    @property
    def auditor(self) -> APIClient:
        return self.programs[Role.AUDITOR]

    @property
    def administrator(self) -> APIClient:
        return self.programs[Role.ADMINISTRATOR]


def make_cast(**settings: Any) -> Cast:
    """A new club with five members."""
    club = ClubFactory.create(**settings)
    members = {
        role: (InspectorFactory if role == Role.INSPECTOR else MemberFactory).create(club=club, roles=[role])
        for role in Role
    }
    return Cast(club, members, {role: client_of(member) for role, member in members.items()})


def change(program: APIClient, address: str, body: dict[str, Any]) -> Any:
    """A PATCH based on what a GET answers now."""
    current = program.get(address)
    assert current.status_code == 200, current.content
    return program.patch(address, body, headers={"If-Match": current["ETag"]})


def only_for(cast: Cast, allowed: set[Role], method: str, address: str, body: dict[str, Any] | None = None) -> None:
    """Every other role is refused with 403, and nobody signed in with 401."""
    for role, program in cast.programs.items():
        if role not in allowed:
            problem(getattr(program, method)(address, body), 403, "forbidden")
    problem(getattr(APIClient(), method)(address, body), 401, "not_authenticated")


def guarded(program: APIClient, address: str, body: dict[str, Any]) -> None:
    """A PATCH needs If-Match (428), refuses a stale one (412), and its answer's tag is that of the next GET."""
    problem(program.patch(address, body), 428, "precondition_required")
    problem(program.patch(address, body, headers={"If-Match": '"0123"'}), 412, "stale")
    before = program.get(address)
    problem(program.patch(address, body, headers={"If-Match": f"W/{before['ETag']}"}), 412, "stale")
    assert program.get(address).content == before.content
    done = program.patch(address, body, headers={"If-Match": before["ETag"]})
    assert done.status_code == 200, done.content
    after = program.get(address)
    assert done["ETag"] == after["ETag"] != before["ETag"]
    assert after.json().items() <= done.json().items()
    problem(program.patch(address, body, headers={"If-Match": before["ETag"]}), 412, "stale")
    assert program.get(address, headers={"If-None-Match": after["ETag"]}).status_code == 304


def created(program: APIClient, address: str, body: dict[str, Any], **options: Any) -> dict[str, Any]:
    """A POST that is accepted: 201, Location leads to what was made, with the same tag."""
    made = program.post(address, body, **options)
    assert made.status_code == 201, made.content
    found = program.get(made["Location"])
    assert found.status_code == 200, found.content
    assert found["ETag"] == made["ETag"]
    assert found.json().items() <= made.json().items()
    answer: dict[str, Any] = made.json()
    return answer


def not_there(program: APIClient, *addresses: str) -> None:
    """Neither read nor changed: 404, as if it did not exist."""
    for address in addresses:
        problem(program.get(address), 404, "not_found")
