"""The languages a reader may choose from, each by its own name for itself."""

from django import template
from django.conf import settings

register = template.Library()


@register.simple_tag
def site_languages() -> list[tuple[str, str]]:
    """Return code and name of every language; Django's own tag would translate the names."""
    return list(settings.LANGUAGES)
