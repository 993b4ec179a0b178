"""What is counted for whoever watches over the site; the only user of prometheus_client.

Under gunicorn each process counts in a file of its own, named by PROMETHEUS_MULTIPROC_DIR
(deploy/gunicorn.conf.py sets it), and the one that is asked adds them up.
"""

import os
from collections.abc import Iterable, Mapping

from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Histogram,
    generate_latest,
    multiprocess,
)
from prometheus_client.core import GaugeMetricFamily

CONTENT_TYPE = CONTENT_TYPE_LATEST
# Seconds; our choice: a page takes 5 to 20 ms, a stamp up to a second, a slow photo several.
BUCKETS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
# Anything may be sent as a method, and each one counted apart would be kept for good.
METHODS = frozenset({"GET", "HEAD", "POST", "OPTIONS", "PUT", "PATCH", "DELETE"})

own = CollectorRegistry()
REQUESTS = Counter("kal_requests", "Requests answered.", ["page", "method", "status"], registry=own)
SECONDS = Histogram(
    "kal_request_seconds", "Time to an answer.", ["page"], buckets=BUCKETS, registry=own
)
STAMPED = Counter(
    "kal_stamped_copies", "PDFs handed out, by how their copy came.", ["copy"], registry=own
)


def count_request(page: str, method: str, status: int, seconds: float) -> None:
    REQUESTS.labels(page, method if method in METHODS else "other", str(status)).inc()
    SECONDS.labels(page).observe(seconds)


def count_stamped(copy: str) -> None:
    """Count a PDF handed out: its copy was `made`, `kept` from before, or `failed`."""
    STAMPED.labels(copy).inc()


type Gauge = tuple[str, str, Mapping[tuple[tuple[str, str], ...], float]]


def exposition(gauges: Iterable[Gauge]) -> bytes:
    """Return all counts and the gauges given, in Prometheus' text format 0.0.4.

    A gauge is its name, what it means, and its values by labels.
    """
    registry = CollectorRegistry()
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        multiprocess.MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        counted = generate_latest(registry)
    else:
        counted = generate_latest(own)
    given = CollectorRegistry()
    given.register(_Given(gauges))
    return counted + generate_latest(given)


class _Given:
    """Gauges read at the moment of asking."""

    def __init__(self, gauges: Iterable[Gauge]) -> None:
        self.gauges = list(gauges)

    def collect(self) -> Iterable[GaugeMetricFamily]:
        for name, meaning, values in self.gauges:
            labels = [label for label, _ in next(iter(values), ())]
            family = GaugeMetricFamily(name, meaning, labels=labels)
            for key, value in values.items():
                family.add_metric([text for _, text in key], value)
            yield family
