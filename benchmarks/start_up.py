"""Time the start of a web process against that of a bare Django, as a ratio within one run.

    python -m benchmarks.start_up [rounds]

Each start is a new Python process, so that nothing is loaded already; the least disturbed of the
rounds counts. Ours loads `kal.wsgi` and the whole URL conf, the bare one five of Django's own
apps. Below come the heaviest packages that ours has loaded, from `-X importtime`.
"""

import os
import subprocess
import sys
import time
from collections import Counter

OURS = "import kal.wsgi, django.urls; django.urls.get_resolver().url_patterns"
BARE = """
from django.conf import settings
settings.configure(INSTALLED_APPS=[f"django.contrib.{name}" for name in
    ("auth", "contenttypes", "sessions", "messages", "staticfiles")])
from django.core.wsgi import get_wsgi_application
get_wsgi_application()
"""
HEAVIEST = 8


def seconds(code: str, rounds: int) -> float:
    """Return the wall time of the fastest of some processes that run the code and end."""
    return min(_once(code) for _ in range(rounds))


def _once(code: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ})
    return time.perf_counter() - start


def heaviest(code: str) -> list[tuple[str, float]]:
    """Return the packages whose own modules took longest to load, in seconds."""
    command = [sys.executable, "-X", "importtime", "-c", code]
    listing = subprocess.run(command, check=True, capture_output=True, text=True).stderr
    spent: Counter[str] = Counter()
    for line in listing.splitlines():
        own, _, name = line.removeprefix("import time:").split("|")
        if own.strip().isdigit():
            spent[name.strip().partition(".")[0]] += int(own)
    return [(name, spent[name] / 1e6) for name, _ in spent.most_common(HEAVIEST)]


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    bare = seconds(BARE, rounds)
    ours = seconds(OURS, rounds)
    print(f"Bare Django           {bare:6.2f} s   1.0")
    print(f"This site             {ours:6.2f} s   {ours / bare:.1f} times as long")
    for name, took in heaviest(OURS):
        print(f"  of which {name:11}{took:6.2f} s")


if __name__ == "__main__":
    main()
