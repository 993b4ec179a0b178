"""What a pass looks like, and the sites that give none; nginx's side is in tests/deploy."""

from datetime import timedelta

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.files.storage import storages

from kal.demo.pdf import page_pdf
from kal.env import read_token
from schedule.passes import NAME
from tests.builders import NOON, make_clue
from tests.web.test_clues import at, attach, file_address

PDF = page_pdf("Clue 1", "Knit to the end.")
SECRET = "0123456789abcdef" * 4


@pytest.fixture(autouse=True)
def signed_in_today():
    with at(NOON - timedelta(hours=1)):
        yield


@pytest.fixture(autouse=True)
def signing(settings):
    settings.NGINX_FILES = "/private/"
    settings.NGINX_SECRET = SECRET


@pytest.fixture
def path(knit_along):
    return file_address(knit_along, attach(make_clue(knit_along), PDF))


def passes(response):
    return [cookie for cookie in response.cookies.values() if cookie.key == NAME]


def opened(client, path):
    """The passes given with the file and with the page of its clue."""
    with at(NOON):
        return passes(client.get(path)) + passes(client.get(path.partition("files/")[0]))


def test_it_is_sent_to_one_address_by_https_alone_and_no_script_reads_it(as_kit, path, settings):
    settings.SESSION_COOKIE_SECURE = True
    with_file, with_page = opened(as_kit, path)
    assert with_file.OutputString() == with_page.OutputString()
    assert with_file["path"] == path
    assert with_file["max-age"] == 300
    assert (with_file["secure"], with_file["httponly"], with_file["samesite"]) == (
        True,
        True,
        "Lax",
    )
    assert with_file["domain"] == ""
    name, _, ends, signature = with_file.value.split("|")
    assert (name, ends) == ("chart.pdf", str(int((NOON + timedelta(minutes=5)).timestamp())))
    assert SECRET not in with_file.value
    assert len(signature) == 22  # 16 bytes in base64, RFC 4648, 5, without padding


@pytest.mark.parametrize("name", ["NGINX_SECRET", "NGINX_FILES"])
def test_without_nginx_or_its_secret_there_is_none(as_kit, path, settings, name):
    setattr(settings, name, "")
    assert opened(as_kit, path) == []


def test_a_bucket_has_none(as_kit, path, monkeypatch):
    """Whatever is no folder of this machine, nginx cannot read."""
    monkeypatch.setattr("kal.private_files.default_storage", storages["staticfiles"])
    with at(NOON):
        assert passes(as_kit.get(path.partition("files/")[0])) == []


def test_previews_and_drafts_give_none(knit_along, as_hana, path):
    with at(NOON):
        response = as_hana.get(f"/k/{knit_along.slug}/desk/clues/1/preview/")
    assert response.status_code == 200
    assert passes(response) == []


@pytest.mark.parametrize("secret", ["short", "x" * 31, '";#' * 20, "ü" * 40, SECRET + "\n"])
def test_a_poor_secret_is_refused_with_what_would_do(monkeypatch, secret):
    monkeypatch.setenv("KAL_NGINX_SECRET", secret)
    with pytest.raises(ImproperlyConfigured, match="32 or more letters and digits; 'openssl rand"):
        read_token("NGINX_SECRET", least=32)


def test_a_good_secret_or_none_is_taken(monkeypatch):
    monkeypatch.delenv("KAL_NGINX_SECRET", raising=False)
    assert read_token("NGINX_SECRET", least=32) == ""
    monkeypatch.setenv("KAL_NGINX_SECRET", SECRET)
    assert read_token("NGINX_SECRET", least=32) == SECRET
