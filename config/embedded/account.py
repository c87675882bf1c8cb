"""Whom a child runs as: PostgreSQL refuses to run as root, so root hands it to an account without privileges."""

import os
import pwd
import stat
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict


class RunAs(TypedDict, total=False):
    """Arguments of ``subprocess``."""

    user: int
    group: int
    extra_groups: list[int]


@dataclass(frozen=True, slots=True)
class Account:
    """A user and group id; ``subprocess`` takes them as ``**account.as_arguments()``."""

    uid: int
    gid: int

    def as_arguments(self) -> RunAs:
        """Nothing when we are that user already: only root may change."""
        if os.geteuid() != 0:
            return {}
        return {"user": self.uid, "group": self.gid, "extra_groups": []}

    def own(self, path: Path) -> Path:
        """A folder for this account alone: made, or found as such. Somebody else's folder of that name is refused."""
        if not os.path.lexists(path):
            path.mkdir(mode=0o700, parents=True)
            os.chown(path, self.uid, self.gid)
        state = path.lstat()
        if not stat.S_ISDIR(state.st_mode) or state.st_uid != self.uid or state.st_mode & 0o077:
            raise PermissionError(
                f"{path} must belong to user {self.uid} alone (mode 0700): remove it or set another DATA_DIR"
            )
        return path

    def can_execute(self, path: Path) -> bool:
        """Whether the account can reach and execute the file (or enter the folder), asked of the system itself."""
        return subprocess.run(["test", "-x", path], check=False, **self.as_arguments()).returncode == 0


def unprivileged(home: Path) -> Account:
    """Ourselves. For root: who owns ``home``, else ``postgres`` where Debian's package made that account, else ``nobody``."""
    if os.geteuid() != 0:
        return Account(os.geteuid(), os.getegid())
    if home.exists() and home.stat().st_uid != 0:
        return Account(home.stat().st_uid, home.stat().st_gid)
    names = {entry.pw_name: entry for entry in pwd.getpwall()}
    entry = names.get("postgres") or names["nobody"]
    return Account(entry.pw_uid, entry.pw_gid)
