"""What a web process loads before its first request."""

import json
import os
import subprocess
import sys

# Each takes a quarter of a second or more to load, and only photos or forecasts of a crowd need it.
HEAVY = {"scipy", "scipy.ndimage", "scipy.special", "scipy.stats", "scipy.optimize", "matplotlib"}
# A tenth of a second or more each, for an upload, a file to print, a subscription to a calendar.
HEAVY |= {"pypdf", "reportlab", "icalendar", "boto3"}
CODE = """
import json, sys
import kal.wsgi, django.urls
django.urls.get_resolver().url_patterns
print(json.dumps(sorted(sys.modules)))
"""


def test_the_site_starts_without_the_heavy_libraries(tmp_path):
    environment = {**os.environ, "KAL_DEMO": "True", "KAL_DATA_DIR": str(tmp_path)}
    command = [sys.executable, "-c", CODE]
    run = subprocess.run(command, check=True, capture_output=True, text=True, env=environment)
    loaded = set(json.loads(run.stdout))
    assert "palettes.views.palette" in loaded
    assert not loaded & HEAVY
