"""What every template may read."""

from django.conf import settings
from django.http import HttpRequest


def site(request: HttpRequest) -> dict[str, object]:
    """Return whether this site is the demo, whose pages say so."""
    return {"is_demo": settings.DEMO}
