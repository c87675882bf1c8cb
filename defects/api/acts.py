"""Acts on a defect: one address each, named as in the act table."""

from typing import Any, ClassVar
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from defects import selectors
from defects.api.representation import shown_to
from defects.api.shapes import (
    ActedShape,
    DeferBody,
    IndependentInspectionBody,
    RectifyBody,
    ReleaseBody,
    ReleasedShape,
    TriageBody,
    WithdrawBody,
)
from defects.lifecycle import (
    DEFER,
    INSPECT_INDEPENDENTLY,
    RECTIFY,
    RELEASE,
    TRIAGE,
    WITHDRAW_DEFERRAL,
    Act,
)
from defects.services import decisions, work
from defects.services.acting import Acted
from fleet import assessment
from fleet.api.base import ClubView
from fleet.api.verdicts import shown_verdict
from fleet.services import access


class ActView(ClubView):
    """Shared by all acts. If-Match is honoured when it is sent, under the aircraft's lock."""

    act: ClassVar[Act]
    answers = {"POST": ActedShape}

    def check_version(self, pk: UUID) -> None:
        """412 when If-Match was sent and the defect has changed since."""
        if "If-Match" not in self.request.headers:
            return
        defect = selectors.defect_of(self.club.id, pk)
        assessment.lock(defect.aircraft_id, club_id=self.club.id, at=self.now)
        self.check_match(shown_to(selectors.defect_of(self.club.id, pk), self.member, self.now))

    def answer(self, acted: Acted, **more: Any) -> Response:
        """201 with the defect as it is now and the verdict as committed."""
        defect = selectors.defect_of(self.club.id, acted.defect.id)
        body = shown_to(defect, self.member, self.now)
        answer = {**body, **more, "airworthiness": shown_verdict(acted.verdict)}
        return self.created(answer, f"/api/v1/defects/{defect.id}", representation=body)


class TriageView(ActView):
    """Triage."""

    act = TRIAGE
    permits = {"POST": TRIAGE.by}
    bodies = {"POST": TriageBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Assess a defect, and say which item it touches."""
        sent = self.validated()
        self.check_version(pk)
        acted = decisions.triage(
            defect_id=pk,
            by=self.member,
            at=self.now,
            assessment=sent["assessment"],
            justification=sent["justification"],
            item_code=sent.get("item"),
            severity=sent.get("severity") or "",
            likelihood=sent.get("likelihood"),
            reportable=sent.get("reportable"),
        )
        return self.answer(acted)


class DeferView(ActView):
    """Deferral."""

    act = DEFER
    permits = {"POST": DEFER.by}
    bodies = {"POST": DeferBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Permit flight with a known defect until the first limit, with limitations."""
        sent = self.validated()
        self.check_version(pk)
        return self.answer(decisions.defer(defect_id=pk, by=self.member, at=self.now, **sent))


class WithdrawDeferralView(ActView):
    """Withdrawal of a deferral."""

    act = WITHDRAW_DEFERRAL
    permits = {"POST": WITHDRAW_DEFERRAL.by}
    bodies = {"POST": WithdrawBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """End a deferral before its limit."""
        sent = self.validated()
        self.check_version(pk)
        return self.answer(decisions.withdraw_deferral(defect_id=pk, by=self.member, at=self.now, **sent))


class RectifyView(ActView):
    """Rectification."""

    act = RECTIFY
    permits = {"POST": RECTIFY.by}
    bodies = {"POST": RectifyBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Record work done; it grounds until it is released."""
        sent = self.validated()
        self.check_version(pk)
        return self.answer(work.rectify(defect_id=pk, by=self.member, at=self.now, **sent))


class IndependentInspectionView(ActView):
    """Independent inspection."""

    act = INSPECT_INDEPENDENTLY
    permits = {"POST": INSPECT_INDEPENDENTLY.by}
    bodies = {"POST": IndependentInspectionBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Accept or reject work in which you had no hand."""
        sent = self.validated()
        self.check_version(pk)
        return self.answer(work.inspect_independently(defect_id=pk, by=self.member, at=self.now, **sent))


class ReleaseView(ActView):
    """Release to service."""

    act = RELEASE
    permits = {"POST": RELEASE.by}
    bodies = {"POST": ReleaseBody}
    answers = {"POST": ReleasedShape}
    reauthenticated = False

    def before_transaction(self) -> None:
        """The password is checked outside, so that a failed attempt stays counted when the act is refused."""
        password = self.validated()["password"]
        self.reauthenticated = access.reauthenticate(self.request._request, self.member, password)

    def post(self, request: Request, pk: UUID) -> Response:
        """Sign the release, which closes the defect."""
        sent = self.validated()
        self.check_version(pk)
        acted, signed = work.release(
            defect_id=pk,
            by=self.member,
            at=self.now,
            reauthenticated=self.reauthenticated,
            statement_accepted=sent["statement_accepted"],
            references=sent.get("references", ""),
        )
        return self.answer(acted, statement=signed.statement, record_hash=signed.record_hash)
