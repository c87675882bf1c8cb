"""Liveness and readiness."""

import pytest
from django.test import Client


def test_healthz_touches_no_database(client: Client) -> None:
    assert client.get("/healthz").json() == {"status": "alive"}


@pytest.mark.django_db
def test_without_a_broker_the_service_is_ready_but_degraded(client: Client) -> None:
    answer = client.get("/readyz")
    assert answer.status_code == 200
    assert answer.json()["status"] == "degraded"
    assert answer.json()["checks"] == {"database": "ok", "migrations": "ok", "broker": "unreachable"}
