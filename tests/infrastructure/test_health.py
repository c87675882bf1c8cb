"""Liveness and readiness."""

import pytest
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client


def test_healthz_touches_no_database(client: Client) -> None:
    assert client.get("/healthz").json() == {"status": "alive"}


@pytest.mark.django_db
def test_without_a_broker_the_service_is_ready_but_degraded(client: Client) -> None:
    answer = client.get("/readyz")
    assert answer.status_code == 200
    assert answer.json()["status"] == "degraded"
    assert answer.json()["checks"] == {"database": "ok", "migrations": "ok", "broker": "unreachable"}


@pytest.mark.django_db
def test_pending_migrations_make_it_unavailable(client: Client) -> None:
    recorder = MigrationRecorder(connection)
    recorder.record_unapplied(*max(name for name in recorder.applied_migrations() if name[0] == "inspections"))
    answer = client.get("/readyz")
    assert answer.status_code == 503
    assert (answer.json()["status"], answer.json()["checks"]["migrations"]) == ("unavailable", "pending")
