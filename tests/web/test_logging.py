"""A page that fails leaves its reason where whoever runs the site will find it."""

import os
import subprocess
import sys
from pathlib import Path

MANAGE = Path(__file__).resolve().parent.parent.parent / "manage.py"
ASK = """
import logging
from unittest import mock
from django.test import Client
client = Client(raise_request_exception=False, headers={"host": "localhost"})
broken = mock.patch(
    "django.core.handlers.base.BaseHandler.resolve_request", side_effect=RuntimeError("a dry well")
)
with broken:
    print(client.get("/").status_code)
print(client.get("/nowhere/").status_code)
logging.getLogger("django.tasks").info("an errand is done")
"""


def test_a_failure_is_printed_with_its_reason_and_what_is_no_failure_is_not(tmp_path):
    ours = {name: value for name, value in os.environ.items() if not name.startswith("KAL_")}
    asked = subprocess.run(
        [sys.executable, str(MANAGE), "shell", "--no-imports", "-c", ASK],
        env=ours | {"KAL_DATA_DIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert asked.stdout.split() == ["500", "404"]
    assert "RuntimeError: a dry well" in asked.stderr
    assert "nowhere" not in asked.stderr
    assert "errand" not in asked.stderr
