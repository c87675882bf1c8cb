"""Keeps a few children running: starts them in order, restarts with back-off, stops in reverse order."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import IO

from config.embedded.account import Account
from config.embedded.process import spawn

FIRST_DELAY, LONGEST_DELAY = 0.2, 30.0  # seconds between two tries of a child that dies
STEADY = 60.0  # seconds after which a child that ran is no longer one that keeps dying


@dataclass(slots=True)
class Service:
    """One child. ``command`` is asked anew for each start."""

    name: str
    command: Callable[[], list[str]]
    log: Path
    account: Account | None = None
    stop_signal: signal.Signals = signal.SIGTERM
    patience: float = 20.0  # seconds from the signal to SIGKILL
    child: "subprocess.Popen[bytes] | None" = None
    started: float = 0.0
    delay: float = field(default=FIRST_DELAY)

    def start(self) -> None:
        with _append(self.log) as output:
            self.child = spawn(self.command(), account=self.account, output=output, dying_signal=self.stop_signal)
        self.started = time.monotonic()

    def tend(self) -> None:
        """Starts it again once it is dead and the delay is over."""
        ran = time.monotonic() - self.started
        if self.child is None or self.child.poll() is None or ran < self.delay:
            return
        sys.stderr.write(f"{self.name} ended ({self.child.returncode}), starting it again; see {self.log}\n")
        self.delay = FIRST_DELAY if ran > STEADY else min(self.delay * 2, LONGEST_DELAY)
        self.start()

    def stop(self) -> None:
        if self.child is None:
            return
        self.child.send_signal(self.stop_signal)
        try:
            self.child.wait(self.patience)
        except subprocess.TimeoutExpired:
            self.child.kill()
            self.child.wait()


class Supervisor:
    """A context: whatever was started inside is stopped at its end. Single-threaded; the main thread must run it."""

    def __init__(self) -> None:
        self._services: list[Service] = []

    def __enter__(self) -> "Supervisor":
        signal.signal(signal.SIGINT, _leave)
        signal.signal(signal.SIGTERM, _leave)
        if signal.getsignal(signal.SIGHUP) is not signal.SIG_IGN:  # nohup is meant to outlast the terminal
            signal.signal(signal.SIGHUP, _leave)
        return self

    def __exit__(self, *_exception: object) -> None:
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, signal.SIG_IGN)
        for service in reversed(self._services):
            service.stop()

    def start(self, service: Service) -> None:
        self._services.append(service)
        service.start()

    def tend(self) -> None:
        """One look at every child."""
        for service in self._services:
            service.tend()

    def run(self) -> None:
        """Until a signal ends it."""
        while True:
            self.tend()
            time.sleep(0.1)


def _leave(_number: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)


def _append(log: Path) -> IO[bytes]:
    log.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return os.fdopen(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), "wb")
