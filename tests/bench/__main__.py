"""``python -m tests.bench NAME``: a database of its own, then the benchmark."""

import os
import tempfile
from argparse import ArgumentParser
from contextlib import ExitStack
from importlib import import_module
from pathlib import Path

import django
from django.db import connection

from tests.bench.servers import postgres

NAMES = ("board", "pages", "report", "sweep", "recompute")


def main() -> None:
    """DATABASE_URL names a server to use instead of a private one; the database made there is dropped afterwards."""
    parser = ArgumentParser(
        prog="python -m tests.bench", description="Prints ratios within one run, goals beside them."
    )
    parser.add_argument("name", choices=NAMES)
    parser.add_argument("--rounds", type=int, help="how often everything is measured; the median is printed")
    parser.add_argument("--durable", action="store_true", help="the private PostgreSQL flushes its log at every commit")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="wm-bench-") as name, ExitStack() as stack:
        folder = Path(name)
        folder.chmod(0o711)  # the account that PostgreSQL runs as passes through
        if private := "DATABASE_URL" not in os.environ:
            os.environ["DATABASE_URL"] = stack.enter_context(postgres(folder, durable=chosen.durable))
        os.environ |= environment(folder)
        (folder / "static").mkdir()
        django.setup()
        before = connection.settings_dict["NAME"]
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        if not private:
            stack.callback(connection.creation.destroy_test_db, before, verbosity=0)
        import_module(f"tests.bench.{chosen.name}").run(folder, **({"rounds": chosen.rounds} if chosen.rounds else {}))


def environment(folder: Path) -> dict[str, str]:
    """As in production behind a proxy that ends TLS, with persistent connections."""
    return {
        "DJANGO_SETTINGS_MODULE": "tests.bench.settings",
        "DJANGO_SECRET_KEY": "only-for-benchmarks",
        "DJANGO_HTTPS": "false",
        "DATA_DIR": str(folder / "data"),
        "STATIC_ROOT": str(folder / "static"),
        "DATABASE_CONN_MAX_AGE": "600",
        "LOG_LEVEL": "ERROR",  # of this process; the web server logs as in production
    }


if __name__ == "__main__":
    main()
