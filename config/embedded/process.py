"""A child that cannot outlive its parent, not even one that was killed."""

import ctypes
import os
import signal
import subprocess
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import IO

from config.embedded.account import Account, RunAs

PR_SET_PDEATHSIG = 1  # linux/prctl.h
_libc = ctypes.CDLL(None)  # loaded here: nothing may be imported between fork and exec


def spawn(
    command: Sequence[str],
    *,
    account: Account | None = None,
    environment: Mapping[str, str] | None = None,
    output: IO[bytes] | None = None,
    dying_signal: signal.Signals = signal.SIGTERM,
    cwd: Path | None = None,
) -> "subprocess.Popen[bytes]":
    """Starts a child in a process group of its own, so that Ctrl-C reaches only us and we stop it in our order.

    The kernel sends ``dying_signal`` when the calling thread dies: call it from the main thread.
    """
    return subprocess.Popen(
        command,
        env=None if environment is None else dict(environment),
        stdin=subprocess.DEVNULL,
        stdout=output,
        stderr=output,
        cwd=cwd,
        process_group=0,
        preexec_fn=_bind_to(os.getpid(), dying_signal),
        **(RunAs() if account is None else account.as_arguments()),
    )


def _bind_to(parent: int, dying_signal: int) -> Callable[[], None]:
    def bind() -> None:
        _libc.prctl(PR_SET_PDEATHSIG, dying_signal)
        if os.getppid() != parent:  # it died before we asked
            os._exit(1)

    return bind
