"""The windows of an airworthiness review certificate."""

from dataclasses import asdict
from datetime import date
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.fields import CivilDate
from fleet.permissions import today_in
from fleet.selectors import documents_of
from fleet.services import certificates
from fleet.services.documents import LAST_YEAR


class WindowsQuery(serializers.Serializer[Any]):
    """For which day."""

    on = CivilDate(required=False, help_text="Day of the extension, or on which the review ends; today, if left out.")
    review_begun_on = CivilDate(
        required=False,
        help_text="The earlier day of review of documents and survey of the aircraft; ``on``, if left out.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """A review ends after it has begun; both in years that can be computed with."""
        if max((day.year for day in attrs.values()), default=0) > LAST_YEAR:
            raise serializers.ValidationError({"on": ["Check the year."]})
        if "on" in attrs and attrs.get("review_begun_on", attrs["on"]) > attrs["on"]:
            raise serializers.ValidationError(
                {"review_begun_on": ["The review begins after it ends. Check both days."]}
            )
        return attrs


class ForeseenShape(serializers.Serializer[Any]):
    """The expiry to expect; what is printed counts."""

    expires_on = serializers.DateField(allow_null=True)
    why_not = serializers.CharField(allow_null=True, help_text="Why there is none.")


class WindowsShape(serializers.Serializer[Any]):
    """What an extension or a review would make of a review certificate; nulls for other documents."""

    document = serializers.UUIDField()
    on = serializers.DateField()
    review_begun_on = serializers.DateField()
    expires_on = serializers.DateField(allow_null=True)
    extension_from = serializers.DateField(
        allow_null=True, help_text="From this day an extension keeps the date of the year (ML.A.901(d))."
    )
    review_from = serializers.DateField(
        allow_null=True, help_text="From this day a review keeps the date of the year (ML.A.903(d))."
    )
    extensions_made = serializers.IntegerField(help_text="In a row, since the last review.")
    extensions_left = serializers.IntegerField()
    extension = ForeseenShape()
    review = ForeseenShape()


class DocumentWindowsView(ClubView):
    """The windows of a review certificate."""

    query = WindowsQuery
    answers = {"GET": WindowsShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """From when an extension or a review keeps the date, and the expiry that one of a given day would give."""
        document = self.get_or_404(documents_of(self.club.id), pk)
        asked = self.validated_query()
        on: date = asked.get("on") or max(asked.get("review_begun_on", date.min), today_in(self.club, self.now))
        begun_on: date = asked.get("review_begun_on", on)
        found = certificates.windows(document, on=on, review_begun_on=begun_on)
        days = {"document": document.id, "on": on, "review_begun_on": begun_on, "expires_on": document.expires_on}
        return Response({**days, **asdict(found)})
