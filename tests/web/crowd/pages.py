"""When the crowd's pages are asked for, where they are and what they say."""

from datetime import timedelta
from typing import Any

from django.test import Client
from django.urls import reverse

from kal.models import KnitAlong
from tests.builders import NOON

WEEK = timedelta(weeks=1)
NOW = NOON + 2 * WEEK + timedelta(hours=1)


def at(knit_along: KnitAlong, name: str, *arguments: Any) -> str:
    """Return the address of a page of this knit-along."""
    return reverse(f"schedule:{name}", args=[knit_along.slug, *arguments])


def page(client: Client, address: str) -> str:
    """Return the page at this address, which has to be there."""
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()
