"""What the one-command service sets before Django reads its settings. Nothing that the caller set is overridden."""

import os
import secrets
from collections.abc import MutableMapping
from pathlib import Path

from config.embedded.cluster import private_cluster

BASE_DIR = Path(__file__).resolve().parent.parent.parent


def prepare(environment: MutableMapping[str, str]) -> None:
    """Makes the data folder, and in it on the first run the secret key."""
    data = Path(environment.get("DATA_DIR", BASE_DIR / ".data")).absolute()
    data.mkdir(parents=True, exist_ok=True)
    environment["DATA_DIR"] = str(data)
    defaults = {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "DJANGO_SECRET_KEY": remembered(data / "secret-key"),
        "DJANGO_HTTPS": "false",
        "DATABASE_URL": private_cluster(data).url,
        "DATABASE_CONN_MAX_AGE": "60",
        "CELERY_BROKER_URL": "filesystem://localhost",
        "CACHE_URL": f"filecache://{data / 'cache'}?max_entries=10000",
    }
    for name, value in defaults.items():
        environment.setdefault(name, value)


def remembered(file: Path, value: str | None = None) -> str:
    """A secret that only we can read: what the file holds, or ``value``, or a new random one, which is kept."""
    if value is None and file.exists():
        return file.read_text().strip()
    value = value or secrets.token_urlsafe(18 if "password" in file.name else 50)
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as handle:
        handle.write(value + "\n")
    return value
