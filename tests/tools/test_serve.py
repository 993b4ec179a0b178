"""`make run` and `make demo` underneath: starting, answering, and stopping both processes."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
SERVE = [sys.executable, str(ROOT / "tools" / "serve.py")]
PATIENCE = 60  # seconds; a busy machine takes its time to migrate


@pytest.fixture
def port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def environment(tmp_path):
    """A site of its own, whatever database the tests themselves run on."""
    ours = {name: value for name, value in os.environ.items() if not name.startswith("KAL_")}
    return ours | {"KAL_DATA_DIR": str(tmp_path)}


def wait_for_line(stream, pattern):
    give_up_at = time.monotonic() + PATIENCE
    while time.monotonic() < give_up_at and (line := stream.readline()):
        if found := re.search(pattern, line):
            return found[1]
    raise AssertionError(f"nothing like {pattern!r} was printed")


def children_of(pid):
    listed = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    )
    return [int(number) for number in listed.stdout.split()]


def is_alive(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_it_answers_and_one_signal_stops_server_and_worker(port, environment, stop):
    with subprocess.Popen(
        [*SERVE, "--port", str(port)],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as served:
        try:
            address = wait_for_line(served.stdout, r"Open (http://\S+)")
            assert urllib.request.urlopen(address, timeout=PATIENCE).status == 200
            both = children_of(served.pid)
            assert len(both) == 2
        finally:
            served.send_signal(stop)
            served.communicate(timeout=PATIENCE)
    assert served.returncode == 0
    assert not any(is_alive(pid) for pid in both)


def test_it_ends_in_failure_when_the_worker_dies(port, environment):
    with subprocess.Popen(
        [*SERVE, "--port", str(port)],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as served:
        wait_for_line(served.stdout, r"(Open) ")
        server, worker = children_of(served.pid)
        os.kill(worker, signal.SIGKILL)
        output, _ = served.communicate(timeout=PATIENCE)
    assert served.returncode == 1
    assert "ended by itself" in output
    assert not is_alive(server)


def test_a_taken_port_is_said_in_one_line_before_anything_is_touched(tmp_path, environment):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        refused = subprocess.run(
            [*SERVE, "--port", str(port)], env=environment, capture_output=True, text=True
        )
    assert refused.returncode == 1
    assert refused.stdout == f"Port {port} is taken; try another: PORT={port + 1}.\n"
    assert list(tmp_path.iterdir()) == []
