"""Documents that an aircraft carries, with the expiry printed on them."""

from typing import Any
from uuid import UUID

import django_filters
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import changed, with_airworthiness
from fleet.api.base import ClubView
from fleet.api.fields import CivilDate, ClientId, Id, PastInstant, Text
from fleet.api.listing import ListView
from fleet.api.verdicts import AirworthinessShape, MemberShape, shown_member
from fleet.models import Document, DocumentKind
from fleet.permissions import KEEPERS
from fleet.selectors import documents_of
from fleet.services import register

EXPIRY = "Last valid day as printed; null: it has none."


class ChangeDocumentBody(serializers.Serializer[Any]):
    """What of a document may be corrected; a renewed one is a new document."""

    reference = Text(max_length=80, allow_blank=True)
    issued_on = CivilDate()
    expires_on = CivilDate(allow_null=True, help_text=EXPIRY)
    withdrawn_at = PastInstant(help_text="Since when it no longer counts. Not to be undone.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "An airworthiness review certificate",
            request_only=True,
            value={
                "aircraft": "2b0f3f43-3d8f-4a44-9b55-0a3b6f1d8c20",
                "kind": "airworthiness_review_certificate",
                "reference": "ARC-0042",
                "issued_on": "2026-03-02",
                "expires_on": "2027-03-01",
            },
        )
    ]
)
class DocumentBody(serializers.Serializer[Any]):
    """A new document."""

    id = ClientId()
    aircraft = Id()
    kind = serializers.ChoiceField(DocumentKind.choices)
    reference = Text(max_length=80, allow_blank=True, default="")
    issued_on = CivilDate()
    expires_on = CivilDate(allow_null=True, default=None, help_text=EXPIRY)
    attachment = Id(allow_null=True, default=None, help_text="An attachment of the same aircraft.")


class DocumentShape(serializers.Serializer[Any]):
    """A document."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    registration = serializers.CharField()
    kind = serializers.ChoiceField(DocumentKind.choices)
    reference = serializers.CharField(allow_blank=True)
    issued_on = serializers.DateField()
    expires_on = serializers.DateField(allow_null=True)
    attachment = serializers.UUIDField(allow_null=True)
    withdrawn_at = serializers.DateTimeField(allow_null=True)
    recorded_by = MemberShape()
    recorded_at = serializers.DateTimeField()


class DocumentChangedShape(DocumentShape):
    """A document with the verdict on its aircraft as committed."""

    airworthiness = AirworthinessShape()


def shown(document: Document) -> dict[str, Any]:
    """A document in JSON types."""
    return {
        "id": document.id,
        "aircraft": document.aircraft_id,
        "registration": document.aircraft.registration,
        "kind": document.kind,
        "reference": document.reference,
        "issued_on": document.issued_on,
        "expires_on": document.expires_on,
        "attachment": document.attachment_id,
        "withdrawn_at": document.withdrawn_at,
        "recorded_by": shown_member(document.recorded_by),
        "recorded_at": document.recorded_at,
    }


class DocumentFilter(django_filters.FilterSet):
    """By aircraft, kind and whether it counts."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    kind = django_filters.MultipleChoiceFilter(choices=DocumentKind.choices)
    withdrawn = django_filters.BooleanFilter(field_name="withdrawn_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Document
        fields: tuple[str, ...] = ()


class DocumentsView(ListView):
    """Documents of the club's aircraft."""

    permits = {"POST": KEEPERS}
    bodies = {"POST": DocumentBody}
    answers = {"GET": DocumentShape, "POST": DocumentChangedShape}
    filterset_class = DocumentFilter
    ordering = "-recorded_at"
    ordering_fields = ("issued_on",)

    def get(self, request: Request) -> Response:
        """Documents, newest first, withdrawn ones included."""
        return self.page(documents_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Record a document. The aircraft is judged in the same transaction."""
        sent = self.validated()
        added, verdict = register.add_document(
            aircraft_id=sent.pop("aircraft"),
            by=self.member,
            at=self.now,
            document_id=sent.pop("id", None),
            **sent,
        )
        body = shown(added)
        return self.created(with_airworthiness(body, verdict), f"/api/v1/documents/{added.id}", representation=body)


class DocumentView(ClubView):
    """One document."""

    permits = {"PATCH": KEEPERS}
    bodies = {"PATCH": ChangeDocumentBody}
    answers = {"GET": DocumentShape, "PATCH": DocumentChangedShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """The document."""
        return Response(shown(self.get_or_404(documents_of(self.club.id), pk)))

    def patch(self, request: Request, pk: UUID) -> Response:
        """Correct or withdraw a document; the record keeps what it said before."""
        changes = self.validated()
        aircraft, document = register.lock_document(pk, by=self.member, at=self.now)
        self.require_match(shown(document))
        document, verdict = register.change_document(aircraft, document, by=self.member, at=self.now, changes=changes)
        return changed(shown(document), verdict)
