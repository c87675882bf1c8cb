"""Run as a program: founds the club that is written to while processes die, and prints ids and tokens as JSON."""

import json

import django

django.setup()

from django.utils import timezone  # noqa: E402

from fleet.models import Membership, Role  # noqa: E402
from fleet.services import access  # noqa: E402
from inspections.models import Sheet  # noqa: E402
from tests.factories import PASSWORD, ClubFactory, InspectorFactory, MemberFactory, make_aircraft  # noqa: E402

FLEET = 3


def token_of(member: Membership) -> str:
    return access.issue_token(by=member, name="crash", at=timezone.now())[1]


def main() -> None:
    club = ClubFactory.create()
    pilot, second = (MemberFactory.create(club=club, roles=[Role.PILOT]) for _ in range(2))
    MemberFactory.create(club=club, roles=[Role.TECHNICAL_OFFICER])
    first, other = (InspectorFactory.create(club=club) for _ in range(2))
    aircraft = [make_aircraft(club) for _ in range(FLEET)]
    sheets = Sheet.objects.filter(kind="daily")
    told = {
        "pilot": token_of(pilot),
        "second": str(second.id),
        "inspector": token_of(first),
        "other inspector": token_of(other),
        "password": PASSWORD,
        "aircraft": [str(one.id) for one in aircraft],
        "lines": list(sheets[0].lines.order_by("position").values_list("code", flat=True)),
    }
    print(json.dumps(told))  # noqa: T201 - its answer


if __name__ == "__main__":
    main()
