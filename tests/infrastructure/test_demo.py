"""The one command, end to end, with real servers in a data folder of its own."""

import http.client
import json
import os
import signal
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings

from tests.infrastructure.demo_process import Demo, demo, descendants, wait_until


@pytest.fixture(scope="module")
def data() -> Iterator[Path]:
    """A short path that an unprivileged account can enter."""
    with tempfile.TemporaryDirectory(prefix="wm-demo-") as folder:
        Path(folder).chmod(0o755)
        yield Path(folder) / "data"


def token(running: Demo, username: str, password: str) -> str:
    body = json.dumps({"username": username, "password": password, "name": "test"})
    connection = http.client.HTTPConnection("127.0.0.1", running.port, timeout=30)
    connection.request("POST", "/api/v1/tokens", body, {"Content-Type": "application/json"})
    answer = connection.getresponse()
    assert answer.status == 201, answer.read()
    return str(json.load(answer)["token"])


def test_serves_the_demo_club_and_survives_what_can_be_killed(data: Path) -> None:
    with demo(data, DEMO_PASSWORD="correct horse") as running:
        assert running.status("/healthz") == 200
        assert running.status("/readyz") == 200
        for person in ("pilot", "second", "officer", "inspector", "inspector2", "auditor", "admin", "outsider"):
            assert person in running.output.read_text()
            assert token(running, person, "correct horse")
        for secret in ("secret-key", "demo-password"):
            assert stat.S_IMODE((data / secret).stat().st_mode) == 0o600

        killed = running.postmaster()
        os.kill(killed, signal.SIGKILL)
        wait_until(lambda: running.postmaster() != killed and running.status("/readyz") == 200, 60)
        assert token(running, "pilot", "correct horse")

        running.process.terminate()
        assert running.process.wait(timeout=60) == 0
        assert descendants(data) == []


def test_starts_again_with_what_is_there_and_leaves_no_orphan_when_killed(data: Path) -> None:
    with demo(data) as running:
        assert "correct horse" in running.output.read_text()
        assert token(running, "pilot", "correct horse")
        running.process.kill()
        running.process.wait()
        wait_until(lambda: not descendants(data), 60)
    with demo(data) as running:
        assert token(running, "inspector", "correct horse")


def test_reset_starts_over_with_a_new_password(data: Path) -> None:
    key = (data / "secret-key").read_text()
    with demo(data, "--reset") as running:
        fresh = (data / "demo-password").read_text().strip()
        assert fresh != "correct horse"
        assert fresh in running.output.read_text()
        assert token(running, "pilot", fresh)
        assert (data / "secret-key").read_text() == key
        refused = run_demo(data, "--port", "1")
        assert refused.returncode != 0
        assert "already serves" in refused.stderr


def test_reset_spares_a_server_that_is_not_ours(data: Path) -> None:
    refused = run_demo(data, "--reset", DATABASE_URL="postgresql://nobody@/nothing?host=/nowhere")
    assert refused.returncode != 0
    assert "--reset works on the private PostgreSQL only" in refused.stderr


def run_demo(data: Path, *arguments: str, **environment: str) -> "subprocess.CompletedProcess[str]":
    inherited = {
        name: value for name, value in os.environ.items() if name not in {"DATABASE_URL", "DJANGO_SETTINGS_MODULE"}
    }
    return subprocess.run(
        [sys.executable, "manage.py", "demo", *arguments],
        env=inherited | {"DATA_DIR": str(data)} | environment,
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
