"""What a service may refuse, in the words of the domain. The edges turn these into HTTP answers or form errors."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FieldError:
    """One input that is not acceptable; ``pointer`` is a JSON pointer (RFC 6901) into what was sent."""

    pointer: str
    code: str
    detail: str


class DomainError(Exception):
    """Base of every refusal. ``code`` is stable and part of the API; ``detail`` says what to do."""

    def __init__(self, code: str, detail: str, errors: tuple[FieldError, ...] = ()) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.errors = errors


class Forbidden(DomainError):
    """This person may not do this (role, authorisation, independence)."""


class NotFound(DomainError):
    """It does not exist, or belongs to another club, which is the same."""


class Conflict(DomainError):
    """The state of the record does not allow it; ``current`` says what the state is."""

    def __init__(self, code: str, detail: str, current: Mapping[str, object] | None = None) -> None:
        super().__init__(code, detail)
        self.current = dict(current or {})


class Invalid(DomainError):
    """Well-formed but not acceptable; nothing was changed."""


class Stale(DomainError):
    """The version that the caller names is not the current one."""


class Locked(DomainError):
    """Too many failed sign-ins; ``wait`` is in seconds."""

    def __init__(self, wait: int) -> None:
        super().__init__("locked", "Too many failed sign-ins. Wait before you try again.")
        self.wait = wait


def invalid(pointer: str, code: str, detail: str) -> Invalid:
    """One refused field."""
    return Invalid("invalid", detail, (FieldError(pointer, code, detail),))
