"""Load from other processes: requests a second by wrk (or a small client without it), and timed work of many clients."""

import http.client
import multiprocessing
import os
import re
import shutil
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tests.bench import processor
from tests.bench.servers import HOST, WORKERS, Web

SECONDS = 3
CLIENTS = 8
FORK = multiprocessing.get_context("fork")


@dataclass(frozen=True, slots=True)
class Sample:
    """Answers a second, and milliseconds of processor time that web server and PostgreSQL together spent on each."""

    rate: float
    cost_ms: float


def sample(web: Web, path: str, headers: Mapping[str, str], *, status: int = 200) -> Sample:
    """Load by eight clients. Raises RuntimeError when anything else than ``status`` is answered."""
    for _ in range(2 * WORKERS):  # until every worker has its connection
        expect(web.port, path, headers, status)
    pids = processor.children(web.pid) + processor.backends()
    before = processor.seconds(pids)
    load = _by_wrk if shutil.which("wrk") else _by_processes
    answers, rate = load(web.port, path, headers)
    return Sample(rate, (processor.seconds(pids) - before) / answers * 1000)


def _by_processes(port: int, path: str, headers: Mapping[str, str]) -> tuple[int, float]:
    done = run_clients([lambda: (lambda: _until(port, path, headers), [])] * CLIENTS)
    return len(done.latencies), done.rate


def expect(port: int, path: str, headers: Mapping[str, str], status: int) -> Any:
    """Headers of one answer, whose status must be this."""
    answered, headers_of_answer, body = get(port, path, headers)
    if answered != status:
        raise RuntimeError(f"{path} answered {answered}: {body[:500]!r}")
    return headers_of_answer


def get(port: int, path: str, headers: Mapping[str, str]) -> tuple[int, Any, bytes]:
    """Status, headers and body."""
    return send(port, "GET", path, headers, None)


def send(port: int, method: str, path: str, headers: Mapping[str, str], body: bytes | None) -> tuple[int, Any, bytes]:
    """A connection a request: sync workers keep none open."""
    connection = http.client.HTTPConnection(HOST, port, timeout=60)
    try:
        connection.request(method, path, body=body, headers=dict(headers))
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read()
    finally:
        connection.close()


def _by_wrk(port: int, path: str, headers: Mapping[str, str]) -> tuple[int, float]:
    named = [part for name, value in headers.items() for part in ("-H", f"{name}: {value}")]
    command = ["wrk", "-t1", f"-c{CLIENTS}", f"-d{SECONDS}s", *named, f"http://{HOST}:{port}{path}"]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    refused = re.search(r"Non-2xx or 3xx responses: (\d+)", told)
    answers, rate = re.search(r"(\d+) requests in", told), re.search(r"Requests/sec:\s+([\d.]+)", told)
    if refused or answers is None or rate is None:
        raise RuntimeError(told)
    return int(answers[1]), float(rate[1])


def _until(port: int, path: str, headers: Mapping[str, str]) -> list[float]:
    latencies = []
    end = time.perf_counter() + SECONDS
    while (start := time.perf_counter()) < end:
        get(port, path, headers)
        latencies.append(time.perf_counter() - start)
    return latencies


@dataclass(frozen=True, slots=True)
class Done:
    """What all clients together did: seconds each piece of work took, from the first to the last, and of processor time."""

    latencies: list[float]
    seconds: float
    processor_seconds: float

    @property
    def rate(self) -> float:
        return len(self.latencies) / self.seconds


Act = Callable[[], list[float]]
"""Works, and returns the seconds of each piece of its work."""
Client = Callable[[], tuple[Act, list[int]]]
"""Makes ready, by connecting for instance; answers what is then timed, and the processes that work for it alone."""


def run_clients(clients: Sequence[Client]) -> Done:
    """Each client in a process of its own, all let go at once. A client that fails fails the run."""
    barrier = FORK.Barrier(len(clients))
    answers: Any = FORK.SimpleQueue()
    processes = [FORK.Process(target=_client, args=(client, barrier, answers)) for client in clients]
    for process in processes:
        process.start()
    told = [answers.get() for _ in processes]
    for process in processes:
        process.join()
    if failures := [one for one in told if isinstance(one, str)]:
        raise RuntimeError("\n".join(failures))
    begun, ended = min(one[0] for one in told), max(one[1] for one in told)
    return Done([latency for one in told for latency in one[2]], ended - begun, sum(one[3] for one in told))


def _client(client: Client, barrier: Any, answers: Any) -> None:
    try:
        act, servants = client()
        pids = [os.getpid(), *servants]
        barrier.wait()
        begun, spent = time.monotonic(), processor.seconds(pids)
        latencies = act()
        answers.put((begun, time.monotonic(), latencies, processor.seconds(pids) - spent))
    except Exception as error:  # noqa: BLE001 - whatever it is, the parent raises it
        barrier.abort()
        answers.put(f"{type(error).__name__}: {error}")
