"""Publishing a sheet: a new version each time; older ones stay as they were."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Max

from fleet import events
from fleet.errors import NotFound, invalid
from fleet.models import INSPECTABLE_FIELDS, AircraftType, Item, Membership
from fleet.permissions import KEEPERS, require_role
from inspections.models import InspectionKind, Sheet, SheetLine


def _items(aircraft_type: AircraftType, codes: Sequence[str]) -> list[Item]:
    by_code = {item.code: item for item in Item.objects.filter(aircraft_type=aircraft_type)}
    seen: set[str] = set()
    for number, code in enumerate(codes):
        if code not in by_code:
            raise invalid(
                f"/lines/{number}",
                "unknown_item",
                f"The catalogue of this type has no item {code!r}.",
            )
        if code in seen:
            raise invalid(
                f"/lines/{number}",
                "twice",
                f"The item {code!r} stands on the sheet already.",
            )
        seen.add(code)
    return [by_code[code] for code in codes]


def _check_route(kind: str, items: Sequence[Item]) -> None:
    if not items:
        raise invalid("/lines", "empty", "A sheet needs at least one line.")
    if kind == InspectionKind.AFTER_RIGGING and not any(item.two_person for item in items):
        raise invalid(
            "/lines",
            "two_person_missing",
            "A sheet for after rigging needs at least one line with a second person.",
        )


@transaction.atomic
def publish(
    *,
    aircraft_type_id: UUID,
    by: Membership,
    at: datetime,
    kind: str,
    title: str,
    codes: Sequence[str],
    sheet_id: UUID | None = None,
) -> Sheet:
    """Publish the next version of a route over the items with these codes, in this order. Every line is required."""
    require_role(by, KEEPERS, "publish a sheet")
    aircraft_type = AircraftType.objects.select_for_update().filter(id=aircraft_type_id, club_id=by.club_id).first()
    if aircraft_type is None:
        raise NotFound("aircraft_type_not_found", "There is no such aircraft type in your club.")
    items = _items(aircraft_type, codes)
    _check_route(kind, items)
    last = Sheet.objects.filter(aircraft_type=aircraft_type, kind=kind).aggregate(last=Max("version"))["last"] or 0
    sheet = Sheet.objects.create(
        id=sheet_id or uuid4(),
        aircraft_type=aircraft_type,
        kind=kind,
        version=last + 1,
        title=title,
        published_by=by,
        published_at=at,
    )
    SheetLine.objects.bulk_create(
        SheetLine(
            sheet=sheet,
            item=item,
            position=position,
            **{name: getattr(item, name) for name in INSPECTABLE_FIELDS},
        )
        for position, item in enumerate(items, start=1)
    )
    entry = events.Entry(
        kind="sheet_publish",
        at=at,
        by=by,
        subject_type="sheet",
        subject_id=sheet.id,
        data={
            "aircraft_type": aircraft_type.designation,
            "kind": kind,
            "version": sheet.version,
            "lines": list(codes),
        },
    )
    events.append_for_club(by.club, [entry])
    return sheet
