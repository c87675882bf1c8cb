"""A private PostgreSQL: reachable through a Unix socket in a closed folder, never over the network."""

import hashlib
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import psycopg
from psycopg import sql

from config.embedded.account import Account, unprivileged
from config.embedded.binaries import choose, within_reach

LONGEST_SOCKET = 100  # bytes; the kernel takes 107
NO_DURABILITY = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}  # tests only


@dataclass(frozen=True, slots=True)
class Cluster:
    """Where one cluster lives and whom it runs as. ``home`` holds its data; the socket lies there too if the path is short."""

    home: Path
    account: Account
    database: str = "witnessmark"
    user: str = "witnessmark"

    @property
    def data(self) -> Path:
        return self.home / "data"

    @property
    def socket_folder(self) -> Path:
        if len(bytes(self.home / ".s.PGSQL.5432")) <= LONGEST_SOCKET:
            return self.home
        return Path(tempfile.gettempdir()) / f"witnessmark-{_digest(self.home)}"

    @property
    def url(self) -> str:
        return f"postgresql://{self.user}@/{self.database}?host={self.socket_folder}"

    def command(self, settings: dict[str, str] | None = None) -> list[str]:
        """The server as a direct child, so that whoever starts it sees it die."""
        closed = {
            "listen_addresses": "",
            "unix_socket_directories": str(self.socket_folder),
            "unix_socket_permissions": "0700",
        }
        options = [f"--{name}={value}" for name, value in (closed | (settings or {})).items()]
        return [str(self._programs() / "postgres"), "-D", str(self.data), *options]

    def create(self) -> None:
        """Makes the cluster unless it is there. A run that was killed half-way leaves nothing that looks like a cluster."""
        self.account.own(self.home)
        self.account.own(self.socket_folder)
        if self.data.exists():
            return
        unfinished = self.home / "data.unfinished"
        shutil.rmtree(unfinished, ignore_errors=True)
        options = ["--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"]
        subprocess.run(
            [self._programs() / "initdb", "-D", unfinished, "-U", self.user, *options],
            check=True,
            stdout=subprocess.DEVNULL,
            cwd=self.home,
            **self.account.as_arguments(),
        )
        unfinished.rename(self.data)

    def wait_until_ready(self, meanwhile: Callable[[], object], seconds: float = 60) -> None:
        """Returns once the server answers and the database is there; TimeoutError when it does not come up."""
        deadline = time.monotonic() + seconds
        while time.monotonic() < deadline:
            meanwhile()
            try:
                self._create_database()
            except psycopg.OperationalError:
                time.sleep(0.05)
            else:
                return
        raise TimeoutError(f"PostgreSQL in {self.home} does not answer; see its log")

    def _create_database(self) -> None:
        with psycopg.connect(
            f"postgresql://{self.user}@/postgres?host={self.socket_folder}", autocommit=True
        ) as connection:
            known = connection.execute("SELECT 1 FROM pg_database WHERE datname = %s", [self.database]).fetchone()
            if known is None:
                connection.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(self.database)))

    def _programs(self) -> Path:
        return within_reach(choose(self.data), self.account, self.home)


def private_cluster(data_dir: Path) -> Cluster:
    """``pg`` in the data folder; under /var/lib where the account cannot enter the data folder (in root's home, say)."""
    home = data_dir / "pg"
    account = unprivileged(home)
    if not account.can_execute(data_dir):
        shared = Path("/var/lib/witnessmark")
        shared.mkdir(exist_ok=True)
        shared.chmod(0o711)
        home = shared / _digest(data_dir)
        account = unprivileged(home)
    return Cluster(home=home, account=account)


def _digest(path: Path) -> str:
    return hashlib.sha256(bytes(path)).hexdigest()[:12]
