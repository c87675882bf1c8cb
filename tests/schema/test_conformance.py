"""A fuzzer drives the API from its own description: no server error, no answer that the description does not allow."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.utils import timezone
from pytest_django.live_server_helper import LiveServer

from fleet.models import Role
from fleet.services import access
from tests.factories import InspectorFactory
from tests.permissions.world import make_world

HOOKS = Path(__file__).with_name("hooks.py")
CONFIG = Path(__file__).with_name("schemathesis.toml")
EXAMPLES = os.environ.get("SCHEMA_EXAMPLES", "8")  # an operation; the thorough run of DEVELOPERS.md uses more


@pytest.mark.django_db(transaction=True)
def test_every_operation_answers_as_described(live_server: LiveServer, tmp_path: Path) -> None:
    world = make_world()
    everybody = InspectorFactory.create(club=world.club, roles=[role for role in Role if role is not Role.AUDITOR])
    _token, secret = access.issue_token(by=everybody, name="fuzzer", at=timezone.now())
    command = [
        sys.executable, "-m", "schemathesis.cli", "--config-file", str(CONFIG), "run", f"{live_server.url}/api/v1/schema",
        "--header", f"Authorization: Bearer {secret}",
        "--phases", "examples,coverage,fuzzing,stateful",
        "--max-examples", EXAMPLES,
        "--generation-deterministic",
        "--continue-on-failure",
        "--suppress-health-check", "all",
        "--warnings", "off",
        "--no-color",
    ]  # fmt: skip
    known = json.dumps({kind: str(value) for kind, value in world.ids.items()})
    env = os.environ | {"KNOWN_IDS": known, "SCHEMATHESIS_HOOKS": str(HOOKS)}
    run = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False, timeout=900)
    (tmp_path / "report.txt").write_text(run.stdout + run.stderr)
    assert run.returncode == 0, run.stdout[-20000:] + run.stderr[-2000:]
