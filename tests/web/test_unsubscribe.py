"""Stopping the mail: one POST with the signed address from the mail, signed in or not."""

import pytest
from django.test import Client

from schedule.notices.emails import unsubscribe_token
from tests.builders import make_knit_along
from tests.pages import words


@pytest.fixture
def address(knit_along, kit):
    return f"/k/{knit_along.slug}/unsubscribe/{unsubscribe_token(kit.pk)}/"


def test_a_mail_programs_post_is_enough(kit, address):
    """RFC 8058, section 3.1: a POST with this body, without cookies or any other context."""
    client = Client(enforce_csrf_checks=True)
    response = client.post(address, {"List-Unsubscribe": "One-Click"})
    assert response.status_code == 200
    assert "The mail is stopped" in words(response)
    kit.refresh_from_db()
    assert not kit.wants_notices


def test_looking_at_the_page_changes_nothing(client, kit, address):
    assert "Stop the mail?" in words(client.get(address))
    client.head(address)
    kit.refresh_from_db()
    assert kit.wants_notices


def test_a_token_is_good_for_its_own_participant_and_knit_along_only(client, kit, address):
    other = make_knit_along()
    token = unsubscribe_token(kit.pk)
    for wrong in (
        f"/k/{other.slug}/unsubscribe/{token}/",
        address.replace(token, f"{kit.pk + 1}:{token.partition(':')[2]}"),
        address.replace(token, token[:-1] + ("A" if token[-1] != "A" else "B")),
        address.replace(token, kit.token),
        address.replace(token, "12"),
    ):
        assert client.post(wrong).status_code == 404
    kit.refresh_from_db()
    assert kit.wants_notices
