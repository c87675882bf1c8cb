"""Attachments: photos and papers on defects and inspections."""

from collections.abc import Mapping
from typing import Any, cast
from uuid import UUID

import django_filters
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, UnsupportedMediaType, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.answers import with_airworthiness
from fleet.api.base import ClubView
from fleet.api.etags import already_has
from fleet.api.fields import ClientId, Id, Text
from fleet.api.listing import ListView
from fleet.api.parsers import Multipart
from fleet.api.refusals import TooLarge
from fleet.api.renderers import StoredFile
from fleet.api.verdicts import AirworthinessShape, MemberShape, shown_member
from fleet.models import Attachment
from fleet.permissions import MEMBERS_WHO_WRITE
from fleet.services.attachments import discard, open_content
from fleet.services.content import Content, FileTooLarge, UnsupportedFile, admit
from inspections.selectors import attachments_of
from inspections.services.attachments import attach

FORM_BYTES = 64 * 1024  # for what surrounds the file
SUFFIXES: Mapping[str, str] = {"image/jpeg": ".jpg", "image/png": ".png", "application/pdf": ".pdf"}


class AttachmentBody(serializers.Serializer[Any]):
    """A file, and what it belongs to: either a defect or an inspection."""

    id = ClientId()
    file = serializers.FileField(
        help_text="JPEG, PNG, WebP or PDF; its content is checked and photos are written anew."
    )
    defect = Id(required=False)
    inspection = Id(required=False)
    caption = Text(max_length=200, required=False, allow_blank=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Exactly one subject."""
        if ("defect" in attrs) == ("inspection" in attrs):
            detail = "Name exactly one: the defect or the inspection that it belongs to."
            raise serializers.ValidationError({"defect": [ErrorDetail(detail, code="exactly_one")]})
        return attrs


class AttachmentShape(serializers.Serializer[Any]):
    """An attachment. Its content lies at ``content``, for members of the club only."""

    id = serializers.UUIDField()
    aircraft = serializers.UUIDField()
    defect = serializers.UUIDField(allow_null=True)
    inspection = serializers.UUIDField(allow_null=True)
    caption = serializers.CharField(allow_blank=True)
    content_type = serializers.ChoiceField(list(SUFFIXES))
    size_bytes = serializers.IntegerField()
    width = serializers.IntegerField(allow_null=True, help_text="Pixels.")
    height = serializers.IntegerField(allow_null=True, help_text="Pixels.")
    sha256 = serializers.CharField(help_text="Of the stored bytes, hexadecimal.")
    content = serializers.CharField(help_text="Address of the stored bytes.")
    uploaded_by = MemberShape()
    uploaded_at = serializers.DateTimeField()


class AttachedShape(AttachmentShape):
    """An attachment with the verdict on its aircraft as committed."""

    airworthiness = AirworthinessShape()


def shown(attachment: Attachment) -> dict[str, Any]:
    """An attachment read by ``attachments_of``; no further query."""
    named = ("id", "caption", "content_type", "size_bytes", "width", "height", "sha256", "uploaded_at")
    return {
        **{name: getattr(attachment, name) for name in named},
        "aircraft": attachment.aircraft_id,
        "defect": getattr(getattr(attachment, "defect_link", None), "defect_id", None),
        "inspection": getattr(getattr(attachment, "inspection_link", None), "inspection_id", None),
        "content": f"/api/v1/attachments/{attachment.id}/content",
        "uploaded_by": shown_member(attachment.uploaded_by),
    }


class AttachmentFilter(django_filters.FilterSet):
    """By aircraft, defect and inspection."""

    aircraft = django_filters.UUIDFilter(field_name="aircraft_id")
    defect = django_filters.UUIDFilter(field_name="defect_link__defect_id")
    inspection = django_filters.UUIDFilter(field_name="inspection_link__inspection_id")

    class Meta:
        model = Attachment
        fields: tuple[str, ...] = ()


class AttachmentsView(ListView):
    """Attachments of the club's aircraft."""

    permits = {"POST": MEMBERS_WHO_WRITE}
    parser_classes = (Multipart,)
    bodies = {"POST": AttachmentBody}
    answers = {"GET": AttachmentShape, "POST": AttachedShape}
    filterset_class = AttachmentFilter
    ordering = "-uploaded_at"
    kept: Attachment | None = None

    @property
    def max_upload_bytes(self) -> int:
        """What the parser reads at most, the whole form."""
        return int(settings.ATTACHMENT_MAX_BYTES) + FORM_BYTES

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """What was written for an act that was undone is removed; the transaction is over when this goes on."""
        response = super().dispatch(request, *args, **kwargs)
        if self.kept is not None and response.status_code >= 400:
            discard(self.kept)
        return response

    def get(self, request: Request) -> Response:
        """Attachments, newest first."""
        return self.page(attachments_of(self.club.id), shown)

    def post(self, request: Request) -> Response:
        """Attach a photo or a paper to a defect or an inspection. Metadata of photos, position above all, is removed."""
        self._refuse_repeated()
        sent = self.validated()
        self.kept, verdict = attach(
            content=_admitted(sent["file"]),
            by=self.member,
            at=self.now,
            caption=sent.get("caption", ""),
            defect_id=sent.get("defect"),
            inspection_id=sent.get("inspection"),
            attachment_id=sent.get("id"),
        )
        body = shown(attachments_of(self.club.id).get(id=self.kept.id))
        answer = with_airworthiness(body, verdict)
        return self.created(answer, f"/api/v1/attachments/{self.kept.id}", representation=body)

    def _refuse_repeated(self) -> None:
        form = cast(QueryDict, self.request.data)
        repeated = [name for name, values in form.lists() if len(values) > 1]
        if repeated:
            raise ValidationError({name: [ErrorDetail("Send this once.", code="repeated")] for name in repeated})


def _admitted(sent: "UploadedFile[bytes]") -> Content:
    sent.seek(0)  # another attempt of the same request reads it again
    declared, name = sent.content_type or "", sent.name or ""
    at_most = int(settings.ATTACHMENT_MAX_BYTES)
    try:
        return admit(sent.read(at_most + 1), name=name, declared=declared, at_most=at_most)
    except FileTooLarge as refusal:
        raise TooLarge(refusal.detail) from refusal
    except UnsupportedFile as refusal:
        raise UnsupportedMediaType(declared, detail=refusal.detail) from refusal


class AttachmentView(ClubView):
    """One attachment."""

    answers = {"GET": AttachmentShape}

    def get(self, request: Request, pk: UUID) -> Response:
        """What the attachment is; its content is one address further."""
        return Response(shown(self.get_or_404(attachments_of(self.club.id), pk)))


class AttachmentContentView(ClubView):
    """The content of one attachment."""

    renderer_classes = (StoredFile,)
    answers = {"GET": OpenApiTypes.BINARY}  # type: ignore[dict-item]

    def get(self, request: Request, pk: UUID) -> HttpResponseBase:
        """The stored bytes, to be saved and not to be shown by the browser."""
        found = self.get_or_404(attachments_of(self.club.id), pk)
        headers = {
            "ETag": f'"{found.sha256}"',
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "default-src 'none'; sandbox",
        }
        if already_has(self.request.headers.get("If-None-Match", ""), headers["ETag"]):
            return HttpResponse(status=304, headers=headers)
        return FileResponse(
            open_content(found),
            as_attachment=True,
            filename=f"{found.id}{SUFFIXES[found.content_type]}",
            content_type=found.content_type,
            headers=headers,
        )
