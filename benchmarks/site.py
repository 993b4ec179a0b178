"""Sets Django up on import, for benchmarks of code that needs it."""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kal.settings")
django.setup()
