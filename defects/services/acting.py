"""How every act on a defect begins and ends: lock, check, (write,) record, reassess, in one transaction."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from defects import permissions, selectors
from defects.lifecycle import Act
from defects.models import Defect
from fleet import assessment, events
from fleet.airworthiness.verdict import Verdict
from fleet.errors import NotFound
from fleet.models import Aircraft, Membership


@dataclass(frozen=True, slots=True, kw_only=True)
class Acted:
    """A defect after an act, and the verdict on its aircraft as it will be committed."""

    defect: Defect
    verdict: Verdict


def begin(act: Act, *, defect_id: UUID | str, by: Membership, at: datetime) -> tuple[Aircraft, Defect]:
    """Lock the aircraft, read the defect under the lock and ask whether the act may be taken."""
    aircraft_id = (
        Defect.objects.filter(id=defect_id, aircraft__club_id=by.club_id).values_list("aircraft_id", flat=True).first()
    )
    if aircraft_id is None:
        raise NotFound("defect_not_found", "There is no such defect in your club.")
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    defect = selectors.defect_of(by.club_id, defect_id)
    refusal = permissions.why_not(act, defect, by)
    if refusal:
        raise refusal
    return aircraft, defect


def finish(
    aircraft: Aircraft,
    defect: Defect,
    *,
    act: str,
    by: Membership,
    at: datetime,
    data: Mapping[str, Any],
) -> Acted:
    """Record the act and judge the aircraft anew."""
    entry = events.Entry(
        kind=f"defect_{act.replace('-', '_')}",
        at=at,
        by=by,
        subject_type="defect",
        subject_id=defect.id,
        data={"number": defect.number, "state": defect.state, **data},
    )
    verdict = assessment.conclude([aircraft], at=at, entries={aircraft.id: [entry]})[aircraft.id]
    return Acted(defect=defect, verdict=verdict)
