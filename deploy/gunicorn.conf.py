"""Settings of gunicorn, for `gunicorn --config deploy/gunicorn.conf.py kal.wsgi`.

How many processes is WEB_CONCURRENCY in the environment: start with one for each core.
"""

import os
import shutil
import tempfile

bind = os.environ.get("BIND", "127.0.0.1:8000")
threads = 8
# Longer than the proxy keeps its own end open, so that it is never the one to be surprised.
keepalive = 75
timeout = 60
graceful_timeout = 30
# A worker says that it is alive by touching a file, which should not wait for a slow disk.
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None
# Addresses carry tokens: the site's own log (KAL_LOG=json) names the page instead.
accesslog = None

# Each process counts in a file of its own, and whichever is asked for metrics adds them up.
counts = tempfile.mkdtemp(prefix="knit-along-metrics-")
raw_env = [f"PROMETHEUS_MULTIPROC_DIR={counts}"]


def on_exit(server: object) -> None:
    shutil.rmtree(counts, ignore_errors=True)


def child_exit(server: object, worker: object) -> None:
    from prometheus_client import multiprocess

    multiprocess.mark_process_dead(worker.pid)  # type: ignore[attr-defined, no-untyped-call]
