"""Acts on a component: one address each."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from rest_framework.request import Request
from rest_framework.response import Response

from fleet.airworthiness.verdict import Verdict
from fleet.api.base import ClubView
from fleet.api.component_looks import shown
from fleet.api.component_shapes import ComponentChangedShape, InstallBody, OverhaulBody, RemoveBody
from fleet.api.components import with_verdict
from fleet.selectors import components_of
from fleet.services import installing, overhauls, stores


class ComponentActView(ClubView):
    """Shared by all acts. If-Match is honoured when it is sent, while nobody else moves components."""

    permits = {"POST": stores.FITTERS}
    answers = {"POST": ComponentChangedShape}

    def sent(self, pk: UUID) -> Mapping[str, Any]:
        """The checked body; 404 for no component of the club, 412 when If-Match names another version."""
        sent = self.validated()
        stores.lock(self.member)
        component = self.get_or_404(components_of(self.club.id), pk)
        if "If-Match" in self.request.headers:
            self.check_match(shown(component))
        return sent

    def answer(self, pk: UUID, verdict: Verdict | None) -> Response:
        """201 with the component as it is now."""
        body = shown(components_of(self.club.id).get(id=pk))
        return self.created(with_verdict(body, verdict), f"/api/v1/components/{pk}", representation=body)


class InstallView(ComponentActView):
    """Installation."""

    bodies = {"POST": InstallBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Install a serviceable component at an empty position of an aircraft or of another component."""
        sent = self.sent(pk)
        moved = installing.install(
            component_id=pk,
            by=self.member,
            at=self.now,
            position_id=sent["position"],
            installed_at=sent["installed_at"],
            aircraft_id=sent.get("aircraft"),
            parent_id=sent.get("parent"),
        )
        return self.answer(pk, moved.verdict)


class RemoveView(ComponentActView):
    """Removal."""

    bodies = {"POST": RemoveBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Take a component out of where it is, with whatever is inside it."""
        moved = installing.remove(component_id=pk, by=self.member, at=self.now, **self.sent(pk))
        return self.answer(pk, moved.verdict)


class OverhaulView(ComponentActView):
    """Overhaul."""

    bodies = {"POST": OverhaulBody}

    def post(self, request: Request, pk: UUID) -> Response:
        """Record an overhaul: time since overhaul starts anew, time since new goes on."""
        sent = dict(self.sent(pk))
        overhauls.record(component_id=pk, by=self.member, at=self.now, overhaul_id=sent.pop("id", None), **sent)
        return self.answer(pk, None)
