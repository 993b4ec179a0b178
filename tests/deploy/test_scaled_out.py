"""The whole of it, scaled out by settings alone, walked by one knitter."""

import os
import re
import signal
import subprocess
import time
from io import BytesIO

import pytest
from prometheus_client.parser import text_string_to_metric_families
from pypdf import PdfReader

from tests.deploy.site import METRICS_TOKEN, Browser, running_site

PATIENCE = 60.0  # seconds
SET_UP = """
from datetime import timedelta
from django.core.files.base import ContentFile
from django.utils import timezone
from kal.demo.pdf import page_pdf
from schedule.models import Attachment, Revision
from tests.builders import make_clue, make_knit_along, make_participant, make_user
knit_along = make_knit_along(slug="harbour", cast_on_at=timezone.now() - timedelta(minutes=1))
kit = make_user("Kit", email="kit@knitters.example")
make_participant(knit_along, user=kit)
clue = make_clue(knit_along, body="Row 1: knit all.")
data = page_pdf("Clue 1", "Knit to the end.")
file = Attachment(clue=clue, kind="pdf", name="chart.pdf", content_type="application/pdf",
                  size=len(data))
file.file.save("", ContentFile(data))
Revision.objects.get().attachments.add(file)
"""
CLUE = "/k/harbour/clues/1/"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    with running_site(tmp_path_factory.mktemp("site"), SET_UP) as site:
        yield site


@pytest.fixture(scope="module")
def kit(site):
    """A browser that has signed in by the mailed code."""
    browser = Browser(site)
    browser.open("/sign-in/")
    browser.send(email="kit@knitters.example")
    code = wait_until(lambda: mailed_code(site))
    browser.send(code=code)
    return browser


def wait_until(question):
    give_up_at = time.monotonic() + PATIENCE
    while not (answer := question()):
        assert time.monotonic() < give_up_at, question
        time.sleep(0.1)
    return answer


def mailed_code(site):
    for mail in site.sink.mails:
        text = mail.get_body(("plain",)).get_content()
        if found := re.search(r"^ +([A-Z0-9-]+)\s*$", text, flags=re.MULTILINE):
            return found[1]
    return None


def test_from_signing_in_to_the_stamped_pdf(site, kit):
    page = kit.open(CLUE).decode()
    assert "Row 1: knit all." in page
    address = re.search(r'href="(/k/harbour/clues/1/files/[^"]+)"', page)
    assert address
    (sheet,) = PdfReader(BytesIO(kit.open(address[1]))).pages
    assert "For Kit ·" in sheet.extract_text()
    assert kit.headers["Accept-Ranges"] == "bytes"
    assert kit.open(address[1], Range="bytes=0-4") == b"%PDF-"


def test_two_workers_tell_her_once(site, kit):
    def told():
        return [mail for mail in site.sink.mails if "is out" in str(mail["Subject"])]

    assert len(wait_until(told)) == 1
    # The mail is out a moment before the errand that sent it has ended.
    wait_until(lambda: kit.ask("/health/worker") == 200)
    assert len(told()) == 1


def test_all_that_it_takes_is_there(kit):
    assert kit.open("/health/ready") == b'{"database": "ok", "cache": "ok", "storage": "ok"}'


def test_any_process_adds_up_the_counts_of_all(site, kit):
    before = pages_counted(kit)
    for _ in range(12):
        kit.open(CLUE)
    # Whichever process answers, it knows of every page that each of them served.
    assert {pages_counted(kit) - before for _ in range(6)} == {12}


def pages_counted(browser):
    text = browser.open("/metrics", Authorization=f"Bearer {METRICS_TOKEN}").decode()
    return sum(
        sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
        if sample.name == "kal_requests_total" and sample.labels["page"] == "schedule:clue"
    )


def test_a_web_process_that_is_killed_signs_nobody_out(site, kit):
    def children():
        listed = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(site.web.pid)], capture_output=True, text=True
        )
        return [int(number) for number in listed.stdout.split()]

    workers = wait_until(lambda: children() if len(children()) >= 2 else [])
    os.kill(workers[0], signal.SIGKILL)
    wait_until(lambda: len(set(children()) - {workers[0]}) >= 2)
    for _ in range(6):
        assert b"Row 1: knit all." in kit.open(CLUE)


def test_log_lines_name_nobody_and_no_address(site, kit):
    kit.open("/k/harbour/clues/")
    lines = wait_until(
        lambda: [line for line in site.lines() if line.get("page") == "schedule:clues"]
    )
    assert {"time", "level", "request", "page", "status", "ms"} <= set(lines[0])
    written = site.log.read_text()
    for secret in ("kit@knitters", "harbour", METRICS_TOKEN, "/clues/"):
        assert secret not in written, secret
