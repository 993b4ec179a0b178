"""`manage.py invite_organiser ADDRESS` gives and takes the right to create knit-alongs."""

import pytest
from django.core.management import CommandError, call_command

from kal.models import User
from tests.builders import make_user

pytestmark = pytest.mark.django_db


def test_somebody_new_can_then_sign_in_and_host(capsys):
    call_command("invite_organiser", " Hana@Knitters.example ")
    user = User.objects.get(email="hana@knitters.example")
    assert user.may_host
    assert not user.has_usable_password()
    assert "hana@knitters.example may create knit-alongs" in capsys.readouterr().out


def test_somebody_known_keeps_their_settings():
    user = make_user("Hana", zone="Asia/Tokyo")
    for _ in range(2):
        call_command("invite_organiser", user.email)
    user.refresh_from_db()
    assert user.may_host
    assert (user.name, user.zone) == ("Hana", "Asia/Tokyo")


def test_the_right_can_be_taken_back():
    user = make_user("Hana", may_host=True)
    call_command("invite_organiser", user.email, "--withdraw")
    user.refresh_from_db()
    assert not user.may_host


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["hana"], "“hana” is not a mail address; write it like name@example.org."),
        # RFC 5321, 4.5.3.1.3: a path has at most 256 octets, its brackets included.
        ([f"hana@{'.'.join(['y' * 60] * 5)}.example"], "is not a mail address"),
        (["nobody@knitters.example", "--withdraw"], "Nobody here has the address"),
    ],
)
def test_bad_input_is_one_line_and_changes_nothing(arguments, sentence):
    with pytest.raises(CommandError, match=sentence) as refusal:
        call_command("invite_organiser", *arguments)
    assert refusal.value.returncode == 2
    assert not User.objects.exists()
