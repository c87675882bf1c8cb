"""A POST that comes twice acts once. Everything here runs in the transaction of the act itself.

So a server that dies leaves both the act and its kept answer, or neither.
"""

import hashlib
import hmac
import re
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.db import connection
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from rest_framework.exceptions import ParseError
from rest_framework.response import Response

from fleet.api.authentication import ApiRequest
from fleet.api.refusals import IdTaken, InFlight, KeyReused
from fleet.api.renderers import canonical, frozen
from fleet.models.access import IdempotencyRecord
from fleet.models.people import Membership

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
KEPT_HEADERS = ("Content-Type", "Location", "ETag")
LONGEST_KEY = 255
QUOTED = re.compile(r'"((?:[^"\\]|\\["\\])*)"')
PRINTABLE = re.compile(r"[\x20-\x7e]+")


@dataclass(frozen=True, slots=True)
class Kept:
    """Where an answer is kept: the member's key, or the club's ``id:<uuid>`` (then ``membership`` is None)."""

    club: Membership
    membership: Membership | None
    key: str
    fingerprint: str

    @property
    def lock(self) -> int:
        """Number of the advisory lock (64 bits, signed)."""
        owner = self.membership.pk if self.membership else self.club.club_id
        digest = hashlib.blake2b(f"{owner} {self.key}".encode(), digest_size=8).digest()
        return int.from_bytes(digest, signed=True)

    def find(self) -> IdempotencyRecord | None:
        """The kept answer. Look only under the lock."""
        found = IdempotencyRecord.objects.filter(key=self.key, membership=self.membership)
        return found.filter(club_id=self.club.club_id).first()

    def keep(self, answer: HttpResponse, request: ApiRequest) -> None:
        """Stores the answer in the current transaction."""
        IdempotencyRecord.objects.create(
            club_id=self.club.club_id,
            membership=self.membership,
            key=self.key,
            fingerprint=self.fingerprint,
            status=answer.status_code,
            headers={name: answer[name] for name in KEPT_HEADERS if name in answer},
            body=answer.content,
            created_at=request.now,
        )


def once(request: ApiRequest, member: Membership, act: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """The kept answer, or that of ``act``, which is kept if it is a success.

    Raises InFlight, KeyReused, IdTaken; waits for a concurrent request with the same client-sent id.
    """
    if request.method != "POST":
        return act()
    _rewind(request)
    key, own_id = sent_key(request), sent_id(request)
    if key is None and own_id is None:
        return act()
    fingerprint = fingerprint_of(request)
    by_key = Kept(member, member, key, fingerprint) if key is not None else None
    by_id = Kept(member, None, f"id:{own_id}", fingerprint) if own_id is not None else None
    return _answer_of_key(by_key) or _kept(by_key, by_id, act, request)


def _answer_of_key(by_key: Kept | None) -> HttpResponse | None:
    if by_key is None:
        return None
    if not _locked("SELECT pg_try_advisory_xact_lock(%s)", by_key.lock):
        raise InFlight()
    record = by_key.find()
    if record is None:
        return None
    if record.fingerprint != by_key.fingerprint:
        raise KeyReused()
    return _replay(record, record.status)


def _answer_of_id(by_id: Kept | None) -> HttpResponse | None:
    if by_id is None:
        return None
    _locked("SELECT pg_advisory_xact_lock(%s) IS NOT NULL", by_id.lock)
    record = by_id.find()
    if record is None:
        return None
    if record.fingerprint != by_id.fingerprint:
        raise IdTaken()
    return _replay(record, 200)


def _kept(
    by_key: Kept | None, by_id: Kept | None, act: Callable[[], HttpResponseBase], request: ApiRequest
) -> HttpResponseBase:
    replayed = _answer_of_id(by_id)
    answer = replayed or act()
    if isinstance(answer, Response):
        answer = frozen(answer)
    if not isinstance(answer, HttpResponse) or answer.status_code >= 300:
        return answer
    if by_key is not None:
        by_key.keep(answer, request)
    if by_id is not None and replayed is None:
        by_id.keep(answer, request)
    return answer


def _locked(statement: str, lock: int) -> bool:
    with connection.cursor() as cursor:
        cursor.execute(statement, [lock])
        row = cursor.fetchone()
    return bool(row and row[0])


def _replay(record: IdempotencyRecord, status: int) -> HttpResponse:
    return HttpResponse(bytes(record.body), status=status, headers={**record.headers, REPLAYED: "true"})


def sent_key(request: ApiRequest) -> str | None:
    """The key, quoted (a structured-field string, RFC 9651) or bare. Raises ParseError for anything else."""
    raw = request.headers.get(HEADER)
    if raw is None:
        return None
    quoted = QUOTED.fullmatch(raw.strip())
    key = re.sub(r"\\(.)", r"\1", quoted[1]) if quoted else raw.strip()
    if len(key) > LONGEST_KEY or not PRINTABLE.fullmatch(key):
        raise ParseError(f"{HEADER} is a string of 1 to {LONGEST_KEY} printable ASCII characters, for example a UUID.")
    return key


def sent_id(request: ApiRequest) -> uuid.UUID | None:
    """The client's own id of what it creates; None when not sent or not a UUID (which the serializer refuses)."""
    sent = body_of(request).get("id")
    try:
        return uuid.UUID(sent) if isinstance(sent, str) else None
    except ValueError:
        return None


def body_of(request: ApiRequest) -> Mapping[str, object]:
    """What was sent; every parser of the API yields a mapping."""
    sent = request.data
    return sent if isinstance(sent, Mapping) else {}


def _rewind(request: ApiRequest) -> None:
    """Uploads are read from their start again when the transaction is tried again."""
    for value in body_of(request).values():
        if isinstance(value, UploadedFile):
            value.seek(0)


def fingerprint_of(request: ApiRequest) -> str:
    """HMAC over method, path and content, of uploaded files over their bytes.

    Keyed, because a body may hold a password, which nobody who reads the table should be able to guess at.
    """
    seen = hmac.new(settings.SECRET_KEY.encode(), f"{request.method} {request.path.rstrip('/')}\n".encode(), "sha256")
    content = {name: _content(value) for name, value in body_of(request).items()}
    seen.update(canonical(content))
    return seen.hexdigest()


def _content(value: object) -> object:
    if not isinstance(value, UploadedFile):
        return value
    digest = hashlib.sha256()
    for chunk in value.chunks():
        digest.update(chunk)
    value.seek(0)
    return {"file": digest.hexdigest(), "name": value.name}
