"""The worker is killed at fifty points of a fan-out to 5,000 people, by a troubled mail server."""

import pytest

from schedule.notices.claims import MOST_ATTEMPTS, MOST_UNMARKED
from tests.faults.fan_out import MAIL_TIMEOUT, REFUSED_FOR_GOOD, kill_and_go_on
from tests.site_process import Site
from tests.smtp_sink import running_sink

PEOPLE, KILLS = 5_000, 50

pytestmark = pytest.mark.faults


def test_nobody_is_missed_and_what_is_sent_again_is_bounded(tmp_path, database_url, capsys):
    with running_sink() as sink:
        site = Site(tmp_path, database_url, f"smtp://127.0.0.1:{sink.port}/?timeout={MAIL_TIMEOUT}")
        report = kill_and_go_on(site, sink, people=PEOPLE, kills=KILLS)
    with capsys.disabled():
        print(f"\n{report.duplicates} mails of {PEOPLE} came twice after {KILLS} kills, ")
        print(f"{report.unacknowledged} of them answers that the server never gave.")
    # Every kill hit a worker that was sending.
    assert len(set(report.killed_at)) == KILLS
    everybody = {f"kit{number}@knitters.example" for number in range(PEOPLE)}
    gone = {f"kit{number}@knitters.example" for number in range(REFUSED_FOR_GOOD)}
    assert set(report.told) == everybody - gone
    assert report.duplicates <= KILLS * MOST_UNMARKED + report.unacknowledged
    assert {len(ids) for ids in report.ids.values()} == {1}
    for address in gone:
        assert f"('{address}', {MOST_ATTEMPTS}, " in report.given_up
    assert report.given_up.count("@knitters.example'") == REFUSED_FOR_GOOD
    assert report.given_up.count("no such mailbox") == REFUSED_FOR_GOOD
