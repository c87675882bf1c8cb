"""The tour of the README, pasted into a shell against the demo."""

import os
import re
import subprocess
from pathlib import Path

import pytest
from django.conf import settings
from django.utils import timezone
from pytest_django.live_server_helper import LiveServer

from config.demo import load
from defects.models import Release
from fleet.models import Aircraft
from tests.demo.conftest import PASSWORD


@pytest.mark.django_db(transaction=True)
def test_the_tour_leads_from_a_report_to_a_release(live_server: LiveServer) -> None:
    load(password=PASSWORD, now=timezone.now())
    signed = Release.objects.count()
    readme = (Path(settings.BASE_DIR) / "README.md").read_text()
    (script,) = re.findall(r"```bash\n(.*?)```", readme, re.DOTALL)
    script = script.replace("http://127.0.0.1:8000", live_server.url)
    env = os.environ | {"DEMO_PASSWORD": PASSWORD}
    run = subprocess.run(
        ["bash", "-eu", "-o", "pipefail", "-c", script], env=env, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stderr == ""
    assert '"critical_item_defect"' in run.stdout
    assert '"valid":true' in run.stdout
    assert Release.objects.count() == signed + 1
    aircraft = Aircraft.objects.select_related("airworthiness").get(registration="ZZ-K01")
    assert aircraft.airworthiness.status == "serviceable"
    assert not aircraft.airworthiness.ready_today
