"""Addresses of the register."""

from rest_framework.views import APIView

from fleet.api import (
    aircraft,
    aircraft_types,
    airworthiness,
    authorisations,
    board,
    club,
    documents,
    events,
    items,
    members,
    notifications,
    rules,
)

ENDPOINTS: tuple[tuple[str, type[APIView]], ...] = (
    ("board", board.BoardView),
    ("club", club.OwnClubView),
    ("rules", rules.RulesView),
    ("aircraft-types", aircraft_types.TypesView),
    ("aircraft-types/<uuid:pk>", aircraft_types.TypeView),
    ("aircraft-types/<uuid:type_id>/items", items.CatalogueView),
    ("aircraft-types/<uuid:type_id>/items/<uuid:pk>", items.ItemView),
    ("aircraft", aircraft.FleetView),
    ("aircraft/<uuid:pk>", aircraft.OneAircraftView),
    ("aircraft/<uuid:pk>/airworthiness", airworthiness.AirworthinessView),
    ("aircraft/<uuid:pk>/assessments", airworthiness.AssessmentsView),
    ("documents", documents.DocumentsView),
    ("documents/<uuid:pk>", documents.DocumentView),
    ("members", members.MembersView),
    ("members/me", members.OwnMemberView),
    ("members/<uuid:pk>", members.MemberView),
    ("authorisations", authorisations.AuthorisationsView),
    ("authorisations/<uuid:pk>", authorisations.AuthorisationView),
    ("events", events.EventsView),
    ("events/verify", events.VerificationView),
    ("events/<uuid:pk>", events.EventView),
    ("notifications", notifications.NotificationsView),
    ("notifications/<uuid:pk>", notifications.NotificationView),
    ("notifications/<uuid:pk>/read", notifications.ReadView),
)
