"""Usage entries: what was flown, and counter-entries to it."""

from typing import Any
from uuid import UUID

import django_filters
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import with_airworthiness
from fleet.api.base import ClubView
from fleet.api.listing import ListView
from fleet.api.usage_shapes import RECORDED, UsageBody, UsageEntryShape, shown
from fleet.models import UsageEntry
from fleet.permissions import WALKERS
from fleet.selectors import usage_entries_of
from fleet.services.usage import Line, LinesRefused, Recorded, correct, record

ADDRESS = "/api/v1/usage-entries"


class UsageFilter(django_filters.FilterSet):
    """By aircraft, day and source."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    flown_after = django_filters.DateFilter(field_name="flown_on", lookup_expr="gte", help_text="That day included.")
    flown_before = django_filters.DateFilter(field_name="flown_on", lookup_expr="lt", help_text="That day excluded.")
    source = django_filters.MultipleChoiceFilter(choices=UsageEntry.Source.choices)

    class Meta:
        model = UsageEntry
        fields: tuple[str, ...] = ()


class UsageEntriesView(ListView):
    """Usage of the club's aircraft."""

    permits = {"POST": WALKERS}
    bodies = {"POST": UsageBody}
    answers = {"GET": UsageEntryShape, "POST": RECORDED}
    filterset_class = UsageFilter
    ordering = "-recorded_at"
    ordering_fields = ("flown_on",)

    def get(self, request: Request) -> Response:
        """Usage entries, newest first, corrected ones and corrections included."""
        return self.page(usage_entries_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Record usage, or correct an entry. All entries are recorded or none; the aircraft is judged with it."""
        sent = self.validated()
        if "corrects" in sent:
            corrected = correct(
                entry_id=sent["corrects"],
                by=self.member,
                at=self.now,
                remark=sent["remark"],
                correction_id=sent.get("id"),
            )
            return self._one(corrected)
        aircraft_id, source = sent.pop("aircraft"), sent.pop("source", UsageEntry.Source.MANUAL.value)
        if "entries" in sent:
            return self._several(aircraft_id, self._record(aircraft_id, sent["entries"], source))
        try:
            return self._one(self._record(aircraft_id, [sent], source))
        except LinesRefused as refusal:
            raise refusal.of_one() from refusal

    def _record(self, aircraft_id: UUID, entries: list[dict[str, Any]], source: str) -> Recorded:
        lines = [Line(**entry) for entry in entries]
        return record(aircraft_id=aircraft_id, by=self.member, at=self.now, lines=lines, source=source)

    def _one(self, recorded: Recorded) -> Response:
        body = shown(usage_entries_of(self.club.id).get(id=recorded.entries[0].id))
        answer = with_airworthiness({**body, "totals": _totals(recorded)}, recorded.verdict)
        return self.created(answer, f"{ADDRESS}/{body['id']}", representation=body)

    def _several(self, aircraft_id: UUID, recorded: Recorded) -> Response:
        rows = {
            row.id: row for row in usage_entries_of(self.club.id).filter(id__in=[one.id for one in recorded.entries])
        }
        body = {"entries": [shown(rows[one.id]) for one in recorded.entries], "totals": _totals(recorded)}
        return self.created(with_airworthiness(body, recorded.verdict), f"{ADDRESS}?aircraft={aircraft_id}")


def _totals(recorded: Recorded) -> dict[str, int] | None:
    return None if recorded.total is None else recorded.total.amounts()


class UsageEntryView(ClubView):
    """One usage entry."""

    answers = {"GET": UsageEntryShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The entry."""
        return Response(shown(self.get_or_404(usage_entries_of(self.club.id), pk)))
