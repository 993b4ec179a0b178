"""Run a site on this machine: migrate, start the web server and the task worker, stop both."""

import argparse
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from types import FrameType

ROOT = Path(__file__).resolve().parent.parent
MANAGE = [sys.executable, "manage.py"]
HOST = "127.0.0.1"
SECONDS_TO_START = 60.0
SECONDS_TO_STOP = 20.0  # the worker finishes the task in hand first


def main(arguments: Sequence[str] | None = None) -> int:
    """Serve until Ctrl-C; return 0 then, or 1 when the site could not start or part of it died."""
    options = parse(arguments)
    if is_taken(options.port):
        print(f"Port {options.port} is taken; try another: PORT={options.port + 1}.")
        return 1
    os.chdir(ROOT)
    address = os.environ.setdefault("KAL_BASE_URL", f"http://localhost:{options.port}")
    for signal_number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(signal_number, leave)
    try:
        prepare(demo=options.demo)
        return supervise(options.port, f"\nOpen {address}   (Ctrl-C stops it)\n")
    except subprocess.CalledProcessError as failed:
        return failed.returncode


def parse(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--demo", action="store_true", help="load the demo data first")
    return parser.parse_args(arguments)


def is_taken(port: int) -> bool:
    """Return whether something already listens on the port of this machine."""
    with socket.socket() as probe:
        return probe.connect_ex((HOST, port)) == 0


def leave(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)


def prepare(*, demo: bool) -> None:
    subprocess.run([*MANAGE, "migrate", "--no-input", "--verbosity=0"], check=True)
    if demo:
        subprocess.run([*MANAGE, "load_demo"], check=True)
    # The worker looks for mail to send every minute, once its first such task is queued.
    subprocess.run([*MANAGE, "send_notices", "--later"], check=True)


def supervise(port: int, greeting: str) -> int:
    """Run server and worker side by side until a signal comes or one of them ends."""
    children: list[subprocess.Popen[bytes]] = []
    try:
        # A session of its own keeps Ctrl-C from a child, which is then stopped in good order.
        for command in (web_command(port), worker_command()):
            children.append(subprocess.Popen(command, start_new_session=True))
        wait_until_open(port, children)
        print(greeting, flush=True)
        wait_for_any(children)
        print("The server or the worker ended by itself; see the lines above.", file=sys.stderr)
        return 1
    finally:
        stop(children)


def web_command(port: int) -> list[str]:
    return [
        *(sys.executable, "-m", "gunicorn", "kal.wsgi"),
        *(f"--bind={HOST}:{port}", "--workers=1", "--threads=8", "--log-level=warning"),
    ]


def worker_command() -> list[str]:
    return [*MANAGE, "db_worker", "--interval=1"]


def wait_until_open(port: int, children: Sequence[subprocess.Popen[bytes]]) -> None:
    give_up_at = time.monotonic() + SECONDS_TO_START
    while not is_taken(port) and not any_ended(children) and time.monotonic() < give_up_at:
        time.sleep(0.1)


def wait_for_any(children: Sequence[subprocess.Popen[bytes]]) -> None:
    while not any_ended(children):
        time.sleep(0.2)


def any_ended(children: Sequence[subprocess.Popen[bytes]]) -> bool:
    return any(child.poll() is not None for child in children)


def stop(children: Sequence[subprocess.Popen[bytes]]) -> None:
    """End every child: ask, wait, and only then insist."""
    for child in children:
        child.terminate()
    give_up_at = time.monotonic() + SECONDS_TO_STOP
    for child in children:
        try:
            child.wait(timeout=max(0.1, give_up_at - time.monotonic()))
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()


if __name__ == "__main__":
    sys.exit(main())
