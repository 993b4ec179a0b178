"""The named cast and what every test needs.

Hana and Ines host, Mo moderates, Kit and Mia knit, Dora dyes, Sam is a stranger.
"""

import pytest
from django.db import connection
from django.test import Client

from kal.models import KnitAlong, Participant, Role
from tests.builders import make_knit_along, make_participant, make_user


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings, tmp_path_factory):
    """Put SQLite in a file, as the site does, so that threads have connections of their own.

    In memory all of them would share one, which can neither race nor be closed.
    """
    if connection.vendor == "sqlite":
        name = tmp_path_factory.mktemp("database") / "test.sqlite3"
        connection.settings_dict["TEST"]["NAME"] = str(name)


@pytest.fixture(autouse=True)
def private_files(settings, tmp_path):
    """Keep what a test uploads out of the site's own data."""
    settings.MEDIA_ROOT = tmp_path / "private"
    settings.DEMO_MAIL_DIR = tmp_path / "mail"


@pytest.fixture
def knit_along(db) -> KnitAlong:
    return make_knit_along()


@pytest.fixture
def hana(knit_along) -> Participant:
    """The organiser."""
    return make_participant(knit_along, "Hana", Role.ORGANISER)


@pytest.fixture
def kit(knit_along) -> Participant:
    """A participant."""
    return make_participant(knit_along, "Kit")


@pytest.fixture
def mia(knit_along) -> Participant:
    """Another participant."""
    return make_participant(knit_along, "Mia")


@pytest.fixture
def mo(knit_along) -> Participant:
    """A moderator."""
    return make_participant(knit_along, "Mo", Role.MODERATOR)


@pytest.fixture
def dora(db):
    """A dyer who has signed in and takes part in nothing."""
    return make_user("Dora")


@pytest.fixture
def sam(db):
    """A person who has signed in and takes part in nothing."""
    return make_user("Sam")


@pytest.fixture
def as_hana(hana) -> Client:
    return signed_in(hana.user)


@pytest.fixture
def as_ines(knit_along) -> Client:
    """Another organiser."""
    return signed_in(make_participant(knit_along, "Ines", Role.ORGANISER).user)


@pytest.fixture
def as_kit(kit) -> Client:
    return signed_in(kit.user)


@pytest.fixture
def as_mia(mia) -> Client:
    return signed_in(mia.user)


@pytest.fixture
def as_mo(mo) -> Client:
    return signed_in(mo.user)


@pytest.fixture
def as_sam(sam) -> Client:
    return signed_in(sam)


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client
