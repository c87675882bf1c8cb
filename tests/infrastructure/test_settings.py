"""Settings as a deployment meets them: in a process of their own, from the environment alone."""

import json
import subprocess
import sys
from pathlib import Path

from django.conf import settings

SHOW = "import json, config.settings as s; print(json.dumps({expression}, default=str))"


def load(expression: str, **environment: str) -> "subprocess.CompletedProcess[str]":
    program = SHOW.replace("{expression}", expression)
    return subprocess.run(
        [sys.executable, "-c", program],
        env={"PYTHONPATH": str(settings.BASE_DIR)} | environment,
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=False,
    )


def test_without_a_secret_key_nothing_starts() -> None:
    refused = load("s.DEBUG")
    assert refused.returncode != 0
    assert "DJANGO_SECRET_KEY" in refused.stderr


def test_a_secret_may_come_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "key"
    file.write_text("from-a-file")
    assert json.loads(load("s.SECRET_KEY", DJANGO_SECRET_KEY_FILE=str(file)).stdout) == "from-a-file"


def test_the_defaults_are_those_of_production() -> None:
    shown = load(
        "[s.DEBUG, s.SECURE_SSL_REDIRECT, s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SECURE_HSTS_SECONDS > 0]",
        DJANGO_SECRET_KEY="k",
    )
    assert json.loads(shown.stdout) == [False, True, True, True, True]


def test_a_pool_keeps_the_options_of_the_address() -> None:
    shown = load(
        "s.DATABASES['default']['OPTIONS']",
        DJANGO_SECRET_KEY="k",
        DATABASE_POOL_MAX="5",
        DATABASE_URL="postgresql://club@/club?host=/run/sockets",
    )
    assert json.loads(shown.stdout) == {
        "host": "/run/sockets",
        "pool": {"min_size": 1, "max_size": 5, "timeout": 10},
    }


def test_forwarded_addresses_are_believed_only_from_the_proxies_that_exist() -> None:
    direct = load("[s.REST_FRAMEWORK['NUM_PROXIES'], s.SECURE_PROXY_SSL_HEADER]", DJANGO_SECRET_KEY="k")
    assert json.loads(direct.stdout) == [0, None]
    behind = load(
        "[s.REST_FRAMEWORK['NUM_PROXIES'], s.SECURE_PROXY_SSL_HEADER]", DJANGO_SECRET_KEY="k", DJANGO_PROXY_COUNT="2"
    )
    assert json.loads(behind.stdout) == [2, ["HTTP_X_FORWARDED_PROTO", "https"]]
