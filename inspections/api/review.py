"""The airworthiness review pack of an aircraft, in JSON and as PDF."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.airworthiness.review import Outcome
from fleet.api.base import ClubView
from fleet.api.fields import CivilDate
from fleet.api.renderers import JsonAnswer, StoredFile
from fleet.api.verdicts import AirworthinessShape
from fleet.models import Aircraft, AircraftCategory, DocumentKind
from inspections.selectors import aircraft_for_review
from inspections.services import review


class PackQuery(serializers.Serializer[Any]):
    """From when evidence of what was done is shown."""

    since = CivilDate(required=False, help_text="By default from the last review on.")


class EvidenceShape(serializers.Serializer[Any]):
    """Evidence in rows of plain text."""

    title = serializers.CharField(allow_blank=True)
    columns = serializers.ListField(child=serializers.CharField())
    rows = serializers.ListField(child=serializers.ListField(child=serializers.CharField(allow_blank=True)))


class ReviewCheckShape(serializers.Serializer[Any]):
    """One of the eleven documented checks. Evidence means that the records hold some, not that the check is passed."""

    number = serializers.IntegerField(min_value=1, max_value=11)
    title = serializers.CharField()
    citation = serializers.CharField()
    outcome = serializers.ChoiceField([outcome.value for outcome in Outcome])
    open = serializers.ListField(child=serializers.CharField(), help_text="What is wanting, and what would close it.")
    notes = serializers.ListField(child=serializers.CharField())
    tables = EvidenceShape(many=True)


class ReviewCertificateShape(serializers.Serializer[Any]):
    """The review certificate that reaches furthest."""

    id = serializers.UUIDField()
    reference = serializers.CharField(allow_blank=True)
    issued_on = serializers.DateField()
    expires_on = serializers.DateField(allow_null=True)
    extensions_made = serializers.IntegerField()
    extension_from = serializers.DateField(allow_null=True)
    review_from = serializers.DateField(allow_null=True)


class ReviewPaperShape(serializers.Serializer[Any]):
    """A document that was not withdrawn."""

    id = serializers.UUIDField()
    kind = serializers.ChoiceField(DocumentKind.choices)
    reference = serializers.CharField(allow_blank=True)
    issued_on = serializers.DateField()
    expires_on = serializers.DateField(allow_null=True)


class RecordHeadShape(serializers.Serializer[Any]):
    """Where the aircraft's hash chain stood."""

    length = serializers.IntegerField()
    head = serializers.CharField()


class ReviewPackShape(serializers.Serializer[Any]):
    """A working paper for an airworthiness review."""

    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    aircraft_type = serializers.CharField(help_text="Its designation.")
    manufacturer = serializers.CharField(allow_blank=True)
    category = serializers.ChoiceField(AircraftCategory.choices)
    serial_number = serializers.CharField()
    base = serializers.CharField(allow_blank=True)
    club = serializers.CharField()
    as_of = serializers.DateTimeField()
    since = serializers.DateField(allow_null=True, help_text="null: from the beginning of the record.")
    caution = serializers.CharField()
    record = RecordHeadShape()
    airworthiness = AirworthinessShape()
    certificate = ReviewCertificateShape(allow_null=True)
    documents = ReviewPaperShape(many=True)
    checks = ReviewCheckShape(many=True)


class ReviewPackView(ClubView):
    """The review pack."""

    query = PackQuery
    answers = {"GET": ReviewPackShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """What the records hold for each documented check of a review (ML.A.903(a)), and what is open or not in them."""
        return Response(self._pack(pk)[1])

    def _pack(self, pk: UUID) -> tuple[Aircraft, dict[str, Any]]:
        found = self.get_or_404(aircraft_for_review(self.club.id), pk)
        return found, review.pack(found, since=self.validated_query().get("since"), at=self.now)


class ReviewPackPdfView(ReviewPackView):
    """The review pack as PDF."""

    renderer_classes = (JsonAnswer, StoredFile)
    answers = {}
    media_type = "application/pdf"

    def get(self, request: Request, pk: UUID) -> HttpResponse:  # type: ignore[override]
        """The same as tagged PDF (PDF/UA-1), to be printed. A working paper: it replaces no review."""
        found, made = self._pack(pk)
        content = review.printed(made, time_zone=self.club.time_zone)
        name = f"review-pack-{found.registration}-{self.now:%Y-%m-%d}.pdf"
        headers = {"Content-Disposition": f'attachment; filename="{name}"', "X-Content-Type-Options": "nosniff"}
        return HttpResponse(content, content_type=self.media_type, headers=headers)
