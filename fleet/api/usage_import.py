"""Usage from files."""

from collections.abc import Sequence
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import ClubView
from fleet.api.fields import Id
from fleet.api.parsers import Multipart
from fleet.api.refusals import TooLarge
from fleet.api.strictness import refuse_repeated_fields
from fleet.api.usage_shapes import AmountsShape
from fleet.api.verdicts import AirworthinessShape, shown_verdict
from fleet.permissions import WALKERS
from fleet.services.usage.files import FileFormat, Imported, LaunchKind, import_file
from fleet.services.usage.files.parsed import Note
from fleet.services.usage.lines import Line

MOST_BYTES = 8 * 1024 * 1024  # a day of one fix a second takes three
FORM_BYTES = 16 * 1024  # for what surrounds the file
LINE = ("flown_on", "takeoff_at", "landing_at", "airframe_minutes", "launches", "landings", "engine_minutes")


class FormFlag(serializers.BooleanField):
    """``true`` or ``false`` in a form."""

    def to_internal_value(self, data: Any) -> bool:
        """Raises ValidationError for everything else."""
        if str(data).lower() not in {"true", "false"}:
            self.fail("invalid", input=data)
        return str(data).lower() == "true"


class ImportBody(serializers.Serializer[Any]):
    """A file of one aircraft's usage."""

    file = serializers.FileField(
        help_text="CSV in UTF-8 with a header row (date, takeoff, landing, minutes, winch, aerotow, self, other, landings,"
        " engine_minutes, engine_starts, cycles, remark, registration; all but date optional; comma or semicolon),"
        " or a flight-recorder file in the IGC format."
    )
    aircraft = Id()
    format = serializers.ChoiceField(list(FileFormat), required=False, help_text="Guessed, if left out.")
    launch_kind = serializers.ChoiceField(
        list(LaunchKind), required=False, help_text="Of all flights of a flight-recorder file; for no other file."
    )
    dry_run = FormFlag(required=False, default=False, help_text="Tell what would happen, and record nothing.")


class NoteShape(serializers.Serializer[Any]):
    """Something about a line of the file."""

    line = serializers.IntegerField()
    code = serializers.CharField()
    detail = serializers.CharField()


class ImportLineShape(serializers.Serializer[Any]):
    """A line of the file as it is counted."""

    line = serializers.IntegerField()
    flown_on = serializers.DateField()
    takeoff_at = serializers.DateTimeField(allow_null=True)
    landing_at = serializers.DateTimeField(allow_null=True)
    airframe_minutes = serializers.IntegerField()
    launches = serializers.IntegerField()
    landings = serializers.IntegerField()
    engine_minutes = serializers.IntegerField()


class ImportShape(serializers.Serializer[Any]):
    """What was recorded, or on a dry run would be if the lines that are rejected were not there."""

    dry_run = serializers.BooleanField()
    accepted = serializers.IntegerField(help_text="How many lines are recorded, or would be.")
    duplicates = serializers.IntegerField(help_text="How many lines of this very file are recorded already.")
    lines = ImportLineShape(many=True, help_text="The accepted ones.")
    rejected = NoteShape(many=True)
    warnings = NoteShape(many=True)
    totals_before = AmountsShape(allow_null=True, help_text="null: not known without an opening balance.")
    totals_after = AmountsShape(allow_null=True)
    entries = serializers.ListField(child=serializers.UUIDField(), help_text="None on a dry run.")
    airworthiness = AirworthinessShape()


class UsageImportView(ClubView):
    """Usage from a file."""

    permits = {"POST": WALKERS}
    parser_classes = (Multipart,)
    bodies = {"POST": ImportBody}
    answers = {"POST": ImportShape}
    success_of_post = 200
    max_upload_bytes = MOST_BYTES + FORM_BYTES

    def post(self, request: Request) -> Response:
        """Record all lines of a file, or none if one cannot be right. The same file again changes nothing."""
        refuse_repeated_fields(self.request.data)
        sent = self.validated()
        imported = import_file(
            aircraft_id=sent["aircraft"],
            by=self.member,
            at=self.now,
            data=_content(sent["file"]),
            name=sent["file"].name or "",
            file_format=sent.get("format"),
            launch_kind=sent.get("launch_kind"),
            dry_run=sent["dry_run"],
        )
        return Response(shown(imported))


def _content(sent: "UploadedFile[bytes]") -> bytes:
    sent.seek(0)  # another attempt of the same request reads it again
    data: bytes = sent.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise TooLarge(f"The file is larger than {MOST_BYTES} bytes. Split it.")
    return data


def shown(imported: Imported) -> dict[str, Any]:
    """An import in JSON types."""
    return {
        "dry_run": imported.dry_run,
        "accepted": len(imported.lines),
        "duplicates": len(imported.duplicates),
        "lines": [_line(line) for line in imported.lines],
        "rejected": _notes(imported.rejected),
        "warnings": _notes(imported.warnings),
        "totals_before": imported.totals_before,
        "totals_after": imported.totals_after,
        "entries": [entry.id for entry in imported.entries],
        "airworthiness": shown_verdict(imported.verdict),
    }


def _notes(notes: Sequence[Note]) -> list[dict[str, Any]]:
    return [{"line": note.line, "code": note.code, "detail": note.detail} for note in notes]


def _line(line: Line) -> dict[str, Any]:
    return {"line": line.place, **{name: getattr(line, name) for name in LINE}}
