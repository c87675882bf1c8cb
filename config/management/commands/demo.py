"""The whole service with an invented club, from one command."""

import http.client
import os
import socket
import time
from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from config.demo.load import load
from config.demo.people import MEMBERS, OUTSIDERS
from config.embedded import folder, services
from config.embedded.binaries import NoServer
from config.embedded.cluster import Cluster, private_cluster
from config.embedded.environment import remembered
from config.embedded.supervisor import Supervisor

EVERYBODY = (*MEMBERS, *OUTSIDERS)


class Command(BaseCommand):
    """Serves the demo until Ctrl-C. What an earlier run left in the data folder is kept."""

    help = "Start PostgreSQL, load the demo club and serve it with its scheduled jobs."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--reset", action="store_true", help="throw away what the data folder holds and start over")

    def handle(self, *args: object, port: int, reset: bool, **options: object) -> None:
        data = Path(settings.DATA_DIR)
        cluster = private_cluster(data)
        private = os.environ["DATABASE_URL"] == cluster.url
        try:
            folder.lock(data)
            if reset:
                start_over(data, cluster, private)
            wait_for_port(port)
            with Supervisor() as supervisor:
                self.start(supervisor, data, cluster if private else None, port)
                supervisor.run()
        except (folder.Busy, NoServer, PermissionError, TimeoutError) as problem:
            raise CommandError(str(problem)) from problem

    def start(self, supervisor: Supervisor, data: Path, cluster: Cluster | None, port: int) -> None:
        """Each step needs the one before."""
        if cluster is not None:
            self.tell("starting PostgreSQL")
            cluster.create()
            supervisor.start(services.database(cluster, data))
            cluster.wait_until_ready(supervisor.tend)
        self.tell("bringing the database up to date")
        call_command("migrate", interactive=False, verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0, ignore_patterns=["rest_framework"])
        self.tell("loading the demo club, unless it is there")
        password = remembered(data / "demo-password", os.environ.get("DEMO_PASSWORD"))
        load_club(password)
        connection.close()
        account = services.account_of_children(private_cluster(data).account, data, settings.BASE_DIR)
        services.give_folders(data, account)
        self.tell("starting the web server and the jobs")
        supervisor.start(services.web(data, account, port))
        supervisor.start(services.jobs(data, account))
        wait_until_served(port, supervisor)
        self.announce(data, cluster.home if cluster else "the server of DATABASE_URL", password, port)

    def tell(self, what: str) -> None:
        self.stdout.write(f"{what} ...")
        self.stdout.flush()

    def announce(self, data: Path, database: Path | str, password: str, port: int) -> None:
        people = "\n".join(
            f"    {spec.username:<11}{', '.join(role.label for role in spec.roles)}" for spec in EVERYBODY
        )
        self.stdout.write(
            f"\nWitnessmark serves http://127.0.0.1:{port}  (API: /api/v1, readiness: /readyz)\n\n"
            f"  password of everybody below: {password}\n{people}\n\n"
            f"  data: {data}   logs and mail: {data / 'log'}   PostgreSQL: {database}\n"
            "  Ctrl-C stops everything; the next start keeps what is there.\n"
        )
        self.stdout.flush()


def start_over(data: Path, cluster: Cluster, private: bool) -> None:
    if not private:
        raise CommandError(
            "--reset works on the private PostgreSQL only: drop and create the database of DATABASE_URL yourself"
        )
    folder.start_over(data, cluster.home)


def load_club(password: str) -> None:
    """Loads the demo club once, and keeps the demo people's password what we are about to print."""
    load(password=password, now=datetime.now(UTC))
    for person in get_user_model().objects.filter(username__in=[spec.username for spec in EVERYBODY]):
        if not person.check_password(password):
            person.set_password(password)
            person.save(update_fields=["password"])


def wait_for_port(port: int, seconds: float = 5) -> None:
    """A predecessor that was killed needs a moment to let go."""
    deadline = time.monotonic() + seconds
    while True:
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                if time.monotonic() > deadline:
                    raise CommandError(f"port {port} is in use; choose another with --port") from None
                time.sleep(0.2)
            else:
                return


def wait_until_served(port: int, supervisor: Supervisor, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        supervisor.tend()
        try:
            web = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            web.request("GET", "/healthz")
            web.getresponse().read()
        except (OSError, http.client.HTTPException):
            time.sleep(0.1)
        else:
            return
    raise TimeoutError("the web server does not answer; see its log")
