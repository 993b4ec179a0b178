"""Several mail connections at once: each mail goes over one of them, and fewer will do."""

from collections import Counter
from typing import ClassVar

import pytest
import time_machine
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.utils import timezone

from schedule.models import Notice
from schedule.notices.sweep import sweep
from tests.builders import NOON, make_clue, make_participant
from tests.smtp_sink import running_sink

PEOPLE = 30


class OneAtATime(EmailBackend):
    """A server that serves one connection and refuses every further one."""

    served: ClassVar[set[int]] = set()

    def open(self) -> bool:
        if self.served - {id(self)}:
            raise ConnectionRefusedError("too many connections")
        self.served.add(id(self))
        return True

    def close(self) -> None:
        self.served.discard(id(self))


@pytest.fixture(autouse=True)
def clock(knit_along):
    with time_machine.travel(NOON, tick=False) as traveller:
        for _ in range(PEOPLE):
            make_participant(knit_along)
        make_clue(knit_along)
        yield traveller


def test_over_several_connections_each_is_told_once(settings):
    settings.MAIL_CONNECTIONS = 3
    with running_sink() as sink:
        options = {"host": "127.0.0.1", "port": sink.port, "timeout": 5}
        backend = {"BACKEND": "schedule.notices.smtp.EmailBackend", "OPTIONS": options}
        settings.MAILERS = {"default": backend}
        assert sweep(clock=timezone.now).sent == PEOPLE
    told = Counter(sink.told())
    assert len(told) == PEOPLE
    assert set(told.values()) == {1}
    assert 1 <= sink.connections <= 3


def test_a_server_that_takes_one_connection_gets_all_the_mail_over_it(settings):
    settings.MAIL_CONNECTIONS = 3
    settings.MAILERS = {"default": {"BACKEND": "tests.web.test_senders.OneAtATime"}}
    tally = sweep(clock=timezone.now)
    assert (tally.sent, tally.problem) == (PEOPLE, "")
    assert len({message.to[0] for message in mail.outbox}) == len(mail.outbox) == PEOPLE
    assert not Notice.objects.filter(sent_at=None).exists()
