"""The data folder: one supervisor at a time, and starting over."""

import fcntl
import os
import shutil
from pathlib import Path

from config.embedded.services import OWN_FOLDERS


class Busy(Exception):
    """Another process serves this data folder."""


def lock(data: Path) -> int:
    """Held until the process ends, however it ends."""
    descriptor = os.open(data / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        raise Busy(f"another demo already serves {data}; stop it, or name another folder in DATA_DIR") from None
    return descriptor


def start_over(data: Path, cluster_home: Path) -> None:
    """Removes everything but the secret key."""
    for folder in [cluster_home, *(data / name for name in (*OWN_FOLDERS, "log", "static"))]:
        if folder.exists():
            shutil.rmtree(folder)
    (data / "demo-password").unlink(missing_ok=True)
