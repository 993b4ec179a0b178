"""Health, counts and log lines: what they say, to whom, and what they must never say."""

import json
import logging
import math
from datetime import timedelta
from unittest import mock

import pytest
from django.core.exceptions import ImproperlyConfigured, MiddlewareNotUsed
from django.db import OperationalError
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from prometheus_client.parser import text_string_to_metric_families

from kal.env import read_choice, read_sessions
from kal.health import WORKER_LATE, readiness
from kal.logs import JsonFormatter, request_id
from kal.middleware import WatchMiddleware
from schedule.models import Notice
from schedule.tasks import sweep_notices
from tests.builders import make_clue

TOKEN = "a-token-of-some-length"


@pytest.fixture(autouse=True)
def fresh():
    readiness.forget()
    yield
    readiness.forget()


@pytest.fixture
def watched(settings):
    """A browser on a site that counts; the setting is read when the site starts."""
    settings.METRICS_TOKEN = TOKEN
    return Client(raise_request_exception=False)


class TestHealth:
    def test_a_live_process_says_so_without_asking_anything(self, client):
        """Without the db fixture any question to the database would fail the test."""
        assert client.get("/health/live").json() == {"process": "ok"}

    def test_a_ready_site_names_all_that_it_takes(self, client, db):
        answer = client.get("/health/ready")
        assert answer.status_code == 200
        assert answer.json() == {"database": "ok", "cache": "ok", "storage": "ok"}
        assert "no-store" in answer.headers["Cache-Control"]

    @pytest.mark.parametrize(
        ("broken", "name", "error"),
        [
            ("kal.health.connection.cursor", "database", OperationalError("no password for kal")),
            ("kal.health.cache.set", "cache", ConnectionError("redis://secret@host")),
            ("kal.storage.os.fsync", "storage", OSError(28, "No space left on device")),
        ],
    )
    def test_what_fails_is_named_and_why_is_in_the_log_alone(
        self, client, db, caplog, broken, name, error
    ):
        with mock.patch(broken, side_effect=error):
            answer = client.get("/health/ready")
        assert answer.status_code == 503
        # The cache is a table here, so that without a database there is none either.
        others = {"database": {"storage"}, "cache": {"database", "storage"}}
        assert answer.json()[name] == "fails"
        assert all(
            answer.json()[other] == "ok" for other in others.get(name, {"database", "cache"})
        )
        assert str(error) not in answer.content.decode()
        assert str(error) in caplog.text

    def test_many_questions_cost_one_look(self, client, db, django_assert_num_queries):
        client.get("/health/ready")
        with django_assert_num_queries(0):
            client.get("/health/ready")

    def test_a_check_of_the_storage_leaves_nothing(self, client, db, settings, tmp_path):
        client.get("/health/ready")
        assert [path for path in (tmp_path / "private").rglob("*") if path.is_file()] == []

    def test_a_site_on_https_is_probed_by_plain_http(self, client, settings):
        settings.SECURE_SSL_REDIRECT = True
        assert client.get("/health/live").status_code == 200
        assert client.get("/sign-in/").status_code == 301

    @pytest.mark.parametrize(
        ("ago", "status"), [(None, 503), (timedelta(minutes=1), 200), (2 * WORKER_LATE, 503)]
    )
    def test_a_worker_is_about_if_it_finished_something_lately(self, client, db, ago, status):
        if ago:
            errand(finished_at=timezone.now() - ago, status="SUCCESSFUL")
        assert client.get("/health/worker").status_code == status


def errand(**fields):
    sweep_notices.enqueue()
    task = DBTaskResult.objects.latest("enqueued_at")
    DBTaskResult.objects.filter(pk=task.pk).update(**fields)


def figures(answer):
    """Return every sample by its name and labels, as Prometheus' own parser reads the text."""
    return {
        (sample.name, *sorted(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(answer.content.decode())
        for sample in family.samples
    }


class TestCounts:
    @pytest.mark.parametrize("given", [None, "Bearer ", "Bearer other", TOKEN, f"Basic {TOKEN}"])
    def test_without_the_token_there_is_no_such_page(self, watched, db, given):
        headers = {"Authorization": given} if given else {}
        missing = watched.get("/metrix", headers=headers)
        answer = watched.get("/metrics", headers=headers)
        assert answer.status_code == missing.status_code == 404

    def test_a_site_without_a_token_has_none_that_fits(self, client, db):
        assert client.get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404

    def ask(self, watched):
        return figures(watched.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"}))

    def test_requests_are_counted_by_page_method_and_status(self, watched, db):
        labels = (("method", "GET"), ("page", "account_login"), ("status", "200"))
        before = self.ask(watched).get(("kal_requests_total", *labels), 0)
        for _ in range(3):
            watched.get("/sign-in/")
        found = self.ask(watched)
        assert found["kal_requests_total", *labels] == before + 3
        assert found["kal_request_seconds_count", ("page", "account_login")] >= 3
        assert found["kal_request_seconds_sum", ("page", "account_login")] > 0

    def test_what_strangers_make_up_is_counted_as_one(self, watched, db):
        for number in range(5):
            watched.generic(f"KNIT{number}", f"/nowhere-{number}/")
        named = [key for key in self.ask(watched) if "nowhere" in str(key) or "KNIT" in str(key)]
        assert named == []

    def test_notices_and_errands_are_counted(self, watched, knit_along, kit, hana):
        clue = make_clue(knit_along)
        for number, state in enumerate(["sent_at", "gave_up_at", None, None]):
            Notice.objects.create(
                **{state: timezone.now()} if state else {},
                participant=kit,
                clue=clue,
                kind="clue-out",
                revision=number,
                mail_id=f"<{number}@x>",
                try_after=timezone.now(),
            )
        errand(run_after=timezone.now() - timedelta(minutes=3))
        errand(status="FAILED", finished_at=timezone.now())
        found = self.ask(watched)
        states = {
            state: found["kal_notices", ("state", state)]
            for state in ("sent", "given_up", "waiting")
        }
        assert states == {"sent": 1, "given_up": 1, "waiting": 2}
        assert found["kal_worker_lag_seconds",] == pytest.approx(180, abs=20)
        assert found["kal_worker_idle_seconds",] < 20
        assert found["kal_failed_errands",] == 1

    def test_a_site_without_a_worker_says_so_with_no_number(self, watched, db):
        found = self.ask(watched)
        assert math.isnan(found["kal_worker_idle_seconds",])
        assert found["kal_worker_lag_seconds",] == 0

    def test_a_site_that_neither_counts_nor_logs_has_nothing_in_the_way(self, settings):
        with pytest.raises(MiddlewareNotUsed):
            WatchMiddleware(lambda request: HttpResponse())


def line(record):
    return json.loads(JsonFormatter().format(record))


def record(message="a message", error=None, **extra):
    information = (type(error), error, error.__traceback__) if error else None
    made = logging.LogRecord("kal", logging.WARNING, "x.py", 1, message, (), information)
    made.__dict__.update(extra)
    return made


class TestLog:
    @pytest.fixture
    def lines(self, settings, caplog):
        settings.LOG = "json"
        caplog.set_level(logging.INFO, "kal.requests")
        return lambda: [line(record) for record in caplog.records if record.name == "kal.requests"]

    def test_a_request_is_a_line_without_its_address(self, lines, knit_along):
        browser = Client()
        browser.get(f"/k/{knit_along.slug}/unsubscribe/a-secret-token/?next=/x/")
        (written,) = lines()
        assert written["page"] == "schedule:unsubscribe"
        assert (written["method"], written["message"]) == ("GET", "answered")
        assert written["status"] in (200, 404)
        assert written["ms"] > 0
        assert "secret" not in json.dumps(written)
        assert knit_along.slug not in json.dumps(written)

    @pytest.mark.parametrize(
        ("given", "is_taken"),
        [("0123456789abcdef", True), ("short", False), ('evil"}\n{', False), ("x" * 65, False)],
    )
    def test_the_proxys_name_for_a_request_is_taken_if_it_can_be_written(
        self, lines, db, given, is_taken
    ):
        seen = []

        def answer(request):
            seen.append(request_id.get())
            return HttpResponse()

        request = RequestFactory().get("/", headers={"X-Request-ID": given})
        WatchMiddleware(answer)(request)
        assert (seen == [given]) == is_taken
        assert len(seen[0]) >= 8
        assert request_id.get() == ""

    def test_an_error_is_its_kind_and_its_place_and_not_its_words(self):
        try:
            try:
                raise ValueError("kit@knitters.example typed this")
            except ValueError:
                raise KeyError("Kit Marlow") from None
        except KeyError as error:
            written = line(record("It failed", error))
        assert written["error"]["kind"] == "builtins.KeyError"
        assert written["error"]["after"] == ["builtins.ValueError"]
        assert "test_watching.py" in written["error"]["at"][-1]
        assert "Kit" not in json.dumps(written)
        assert "knitters" not in json.dumps(written)

    def test_an_address_that_was_asked_for_is_not_written(self):
        request = RequestFactory().get("/k/x/unsubscribe/token/")
        written = line(record("Internal Server Error: /k/x/unsubscribe/token/", request=request))
        assert written["message"] == "Internal Server Error"

    def test_mail_addresses_are_left_out(self):
        for words in ("to kit@knitters.example failed", "<kit@knitters.example>: refused"):
            assert "knitters" not in line(record(words))["message"]

    def test_every_line_is_one_line(self):
        assert "\n" not in JsonFormatter().format(record("two\nlines"))


class TestSettings:
    @pytest.mark.parametrize(
        ("value", "backend"), [(None, "db"), ("cached", "cached_db"), ("cache", "cache")]
    )
    def test_sessions_are_kept_where_the_setting_says(self, monkeypatch, value, backend):
        if value:
            monkeypatch.setenv("KAL_SESSIONS", value)
        assert read_sessions() == backend

    def test_anything_else_is_refused_with_what_would_do(self, monkeypatch):
        monkeypatch.setenv("KAL_LOG", "xml")
        with pytest.raises(ImproperlyConfigured, match="KAL_LOG is 'xml'; use text or json"):
            read_choice("LOG", ("text", "json"))
