"""Importing a file: what would happen, or all of it at once; the same file twice changes nothing."""

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from fleet import assessment
from fleet.airworthiness.verdict import Verdict
from fleet.errors import FieldError, Invalid, NotFound, invalid
from fleet.models import Aircraft, Membership, UsageEntry, UsageTotal
from fleet.services.usage import totals
from fleet.services.usage.check import problems
from fleet.services.usage.entries import Recorded, require_recorder, write
from fleet.services.usage.files import csv_table, igc_flights
from fleet.services.usage.files.parsed import FileFormat, LaunchKind, Note, Parsed
from fleet.services.usage.ground import Ground, ground
from fleet.services.usage.lines import COUNTED, Line, settled

SOURCES = {FileFormat.CSV: UsageEntry.Source.CSV, FileFormat.IGC: UsageEntry.Source.FLIGHT_RECORDER}
Amounts = dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What was recorded, or on a dry run would be. Totals are None while there is no opening balance."""

    dry_run: bool
    lines: tuple[Line, ...]
    duplicates: tuple[Line, ...]
    rejected: tuple[Note, ...]
    warnings: tuple[Note, ...]
    totals_before: Amounts | None
    totals_after: Amounts | None
    entries: tuple[UsageEntry, ...]
    verdict: Verdict


class FileRefused(Invalid):
    """Lines of a file cannot be right; nothing was recorded."""

    def __init__(self, rejected: Sequence[Note]) -> None:
        errors = tuple(FieldError(f"/file/{one.line}", one.code, f"Line {one.line}: {one.detail}") for one in rejected)
        super().__init__("invalid", errors[0].detail, errors)


def guessed(name: str, data: bytes) -> FileFormat:
    """By the ending of the file's name, else by its first line: an A record names a recorder."""
    ending = name.rpartition(".")[2].casefold()
    if ending in set(FileFormat):
        return FileFormat(ending)
    return FileFormat.IGC if re.match(rb"A[0-9A-Za-z]{3,}[^,;\n]*\r?\n[A-Z]", data) else FileFormat.CSV


@transaction.atomic
def import_file(
    *,
    aircraft_id: UUID,
    by: Membership,
    at: datetime,
    data: bytes,
    name: str = "",
    file_format: str | None = None,
    launch_kind: str | None = None,
    dry_run: bool = False,
) -> Imported:
    """Record every line of a file, or none: FileRefused tells what is wrong with each. A dry run records nothing.

    ``launch_kind`` is wanted for flight-recorder files and for no others. Raises NotFound, Forbidden, Invalid too.
    """
    chosen = FileFormat(file_format) if file_format else guessed(name, data)
    require_recorder(by, SOURCES[chosen])
    parsed = _parsed(chosen, data, _aircraft(aircraft_id, by), launch_kind)  # before the lock: it may take a while
    aircraft = assessment.lock(aircraft_id, club_id=by.club_id, at=at)
    plan = _plan(aircraft, parsed, source=SOURCES[chosen], at=at)
    if plan.rejected and not dry_run:
        raise FileRefused(plan.rejected)
    before = totals.total_of(aircraft.id)
    recorded = _recorded(aircraft, plan.lines, source=SOURCES[chosen], by=by, at=at, dry_run=dry_run)
    return _imported(plan, before, recorded, dry_run=dry_run)


def _aircraft(aircraft_id: UUID, by: Membership) -> Aircraft:
    found = Aircraft.objects.filter(id=aircraft_id, club_id=by.club_id).select_related("club").first()
    if found is None:
        raise NotFound("aircraft_not_found", "There is no such aircraft in your club.")
    return found


def _parsed(chosen: FileFormat, data: bytes, aircraft: Aircraft, launch_kind: str | None) -> Parsed:
    mark = aircraft.registration
    if chosen == FileFormat.CSV:
        if launch_kind is not None:
            raise invalid("/launch_kind", "not_here", "A table has a column for each kind of launch: leave this out.")
        parsed = csv_table.read(data, registration=mark, time_zone=aircraft.club.time_zone)
    elif launch_kind is None:
        raise invalid("/launch_kind", "required", "Say how these flights were launched: the recorder does not know it.")
    else:
        parsed = igc_flights.read(data, registration=mark, launch_kind=LaunchKind(launch_kind))
    return parsed.named(hashlib.sha256(data).hexdigest())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Lines of a file, sorted into those to be recorded and the rest."""

    lines: tuple[Line, ...]
    duplicates: tuple[Line, ...]
    rejected: tuple[Note, ...]
    warnings: tuple[Note, ...]


def _plan(aircraft: Aircraft, parsed: Parsed, *, source: str, at: datetime) -> _Plan:
    """Two queries. A line that was imported and corrected since is none of the duplicates: it no longer counts."""
    lines = [settled(line, aircraft.club.time_zone) for line in parsed.lines]
    known = ground(aircraft, lines, source=source, at=at)
    there = {entry.reference for entry in known.entries}
    fresh = [line for line in lines if line.reference not in there]
    found = problems(fresh, known)
    refused = {one.index for one in found}
    notes = [Note(fresh[one.index].place or 0, one.code, one.detail) for one in found]
    accepted = [line for index, line in enumerate(fresh) if index not in refused]
    return _Plan(
        lines=tuple(accepted),
        duplicates=tuple(line for line in lines if line.reference in there),
        rejected=tuple(sorted((*parsed.rejected, *notes), key=lambda note: note.line)),
        warnings=(*parsed.warnings, *_looks_recorded(accepted, known)),
    )


def _looks_recorded(lines: Sequence[Line], known: Ground) -> list[Note]:
    """A day's flying without times may be in another file too: say so, for nothing else tells."""
    there = {(entry.flown_on, *(getattr(entry, name) for name in COUNTED)) for entry in known.entries}
    detail = "An entry with the same day and amounts is recorded already. Make sure that this is another one."
    return [
        Note(line.place or 0, "looks_recorded", detail)
        for line in lines
        if (line.flown_on, *(getattr(line, name) for name in COUNTED)) in there
    ]


def _recorded(
    aircraft: Aircraft, lines: Sequence[Line], *, source: str, by: Membership, at: datetime, dry_run: bool
) -> Recorded:
    """What recording leads to; on a dry run it is done and taken back, so that the answer is the true one."""
    if not lines:
        verdict = assessment.assess([aircraft.id], at)[aircraft.id]
        return Recorded(entries=(), total=totals.total_of(aircraft.id), verdict=verdict)
    with transaction.atomic():
        recorded = write(aircraft, lines, by=by, at=at, source=source)
        if dry_run:
            transaction.set_rollback(True)
    return replace(recorded, entries=()) if dry_run else recorded


def _imported(plan: _Plan, before: UsageTotal | None, recorded: Recorded, *, dry_run: bool) -> Imported:
    parts: dict[str, Any] = {name: getattr(plan, name) for name in ("lines", "duplicates", "rejected", "warnings")}
    return Imported(
        dry_run=dry_run,
        totals_before=None if before is None else before.amounts(),
        totals_after=None if recorded.total is None else recorded.total.amounts(),
        entries=recorded.entries,
        verdict=recorded.verdict,
        **parts,
    )
