"""The record in plain sentences: a template for each kind of event, filled from what was recorded.

Every app has a table of its own kinds. In a template ``{name}`` is a value of the event's data on one line, and
``{name:form}`` the same in one of the forms below; a value that is missing leaves nothing.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from string import Formatter
from typing import Any

from fleet.airworthiness.sentences import capitalised, one_line, words

Table = Mapping[str, str]


def _instant(value: str) -> str:
    return f"{datetime.fromisoformat(value):%Y-%m-%d %H:%M} UTC"


def _change(name: str, told: Mapping[str, Any]) -> str:
    if "after" not in told:
        return words(name)
    return f"{words(name)} from {_value(told['before'])} to {_value(told['after'])}"


def _changes(value: Mapping[str, Any]) -> str:
    return "; ".join(_change(name, told) for name, told in value.items() if isinstance(told, Mapping))


def _value(value: object) -> str:
    if isinstance(value, str):
        return one_line(value) or "blank"
    if isinstance(value, Sequence):
        return ", ".join(_value(one) for one in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "none" if value is None else str(value)


FORMS: Mapping[str, Callable[[Any], str]] = {
    "": lambda value: one_line(str(value)),
    "words": lambda value: words(str(value)),
    "list": _value,
    "instant": _instant,
    "changes": _changes,
    "if_valid_until": lambda value: f", valid until {value}",
    "if_until": lambda value: f" until {value}",
    "if_colon": lambda value: f": {one_line(str(value))}" if value else "",
    "if_missing": lambda value: f"; missing: {_value(value)}" if value else "",
    "completeness": lambda value: "complete" if value else "incomplete",
    "readiness": lambda value: "ready today" if value else "not ready today",
}


class _Filler(Formatter):
    def get_value(self, key: int | str, args: Sequence[Any], kwargs: Mapping[str, Any]) -> Any:
        return kwargs if key == "all" else kwargs.get(str(key))

    def format_field(self, value: Any, format_spec: str) -> str:
        return "" if value is None else FORMS[format_spec](value)


def sentence(kind: str, data: Mapping[str, Any], table: Table) -> str:
    """One sentence about an event; for a kind that is not in the table its name in words."""
    return capitalised(_Filler().vformat(table.get(kind, f"{words(kind)}."), (), data))


OF_REGISTER: Table = {
    "aircraft_add": "Registered as {registration}: type {aircraft_type}, serial number {serial_number}.",
    "aircraft_change": "Register changed: {all:changes}.",
    "airworthiness_changed": "Now shown as {status}, {ready_today:readiness}; before as {status_before}.",
    "attachment_add": "Attached to this {to}: {content_type}{caption:if_colon}.",
    "club_settings_change": "Settings of the club changed: {all:changes}.",
    "document_add": "{kind:words} recorded: issued on {issued_on}{expires_on:if_valid_until}.",
    "document_change": "{kind:words} corrected: {all:changes}.",
    "flag_daily_inspection_lapsed": "Flagged: {message}",
    "item_change": "Item {item} of the type changed: {all:changes}.",
}
