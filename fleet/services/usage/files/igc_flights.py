"""Flights of a flight-recorder file as lines of usage."""

from collections.abc import Iterator

from fleet.flights import Airborne, Flight, flights
from fleet.services.usage.files import igc_records
from fleet.services.usage.files.igc_records import Trace
from fleet.services.usage.files.parsed import Broken, LaunchKind, Note, Parsed, broken, marks_match, quoted
from fleet.services.usage.lines import Line


def read(data: bytes, *, registration: str, launch_kind: LaunchKind) -> Parsed:
    """Every flight of the file, each with one launch of this kind and one landing."""
    try:
        trace = igc_records.read(data)
        found = _flights(trace)
    except Broken as error:
        return broken(error)
    lines = tuple(_line(flight, launch_kind) for flight in found)
    return Parsed(lines=lines, warnings=tuple(_warnings(trace, registration)))


def _flights(trace: Trace) -> list[Flight]:
    try:
        found = flights(trace.fixes)
    except Airborne as error:
        begins = "begins in flight: when it took off" if error.begins else "ends in flight: when it landed"
        detail = f"The record {begins} is not known. Record this flight by hand."
        raise Broken(error.fix.place, "airborne", detail) from error
    if not found:
        raise Broken(max(trace.lines, 1), "no_flight", "No take-off was found in this file.")
    return found


def _line(flight: Flight, launch_kind: LaunchKind) -> Line:
    launches = {f"{launch_kind.value}_launches": 1}
    times = {"takeoff_at": flight.takeoff.at, "landing_at": flight.landing.at}
    return Line(place=flight.takeoff.place, landings=1, **times, **launches)  # type: ignore[arg-type]  # fields by name


def _warnings(trace: Trace, registration: str) -> Iterator[Note]:
    if trace.glider is None:
        yield Note(1, "glider_unknown", "The recorder does not say in which aircraft it flew.")
    elif not marks_match(trace.glider[1], registration):
        line, mark = trace.glider
        yield Note(line, "other_glider", f"The recorder says that it flew in {quoted(mark)}, not in {registration}.")
    if not trace.signed:
        yield Note(trace.lines, "not_signed", "The file ends without a security record; it may have been cut off.")
