"""Kill the worker again and again in a long fan-out, and count the mails that came twice.

    python -m benchmarks.fan_out_killed [people] [kills]

The longer kin of `tests/faults/test_fan_out_killed.py`, which states and checks the bound.
"""

import sys
import tempfile
from pathlib import Path

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
from schedule.notices.claims import MOST_UNMARKED
from tests.faults.fan_out import MAIL_TIMEOUT, REFUSED_FOR_GOOD, kill_and_go_on
from tests.site_process import Site
from tests.smtp_sink import running_sink

PEOPLE, KILLS = 20_000, 200


def main(arguments: list[str]) -> None:
    people, kills = (int(given) for given in arguments) if arguments else (PEOPLE, KILLS)
    with tempfile.TemporaryDirectory() as folder, running_sink() as sink:
        mail = f"smtp://127.0.0.1:{sink.port}/?timeout={MAIL_TIMEOUT}"
        site = Site(Path(folder), f"sqlite:///{folder}/site.sqlite3", mail)
        report = kill_and_go_on(site, sink, people=people, kills=kills)
    missed = people - REFUSED_FOR_GOOD - len(report.told)
    print(
        f"{people} people, {kills} kills: {missed} missed, {report.duplicates} mails came twice "
        f"({report.duplicates / people:.1%}, {report.duplicates / kills:.1f} a kill; "
        f"at most {MOST_UNMARKED}), {report.unacknowledged} of them without an answer"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
