"""Let a person create knit-alongs on this site."""

from typing import Any

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.core.management.base import CommandParser
from django.db import transaction

from kal.management.refusing import OneLineCommand, refuse
from kal.models import User


class Command(OneLineCommand):
    help = "Let the person with this mail address create knit-alongs; --withdraw takes it back."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("address", help="the mail address the person signs in with")
        parser.add_argument("--withdraw", action="store_true", help="take the right back")

    def handle(self, *args: Any, address: str, withdraw: bool, **options: Any) -> str:
        email = address.strip().lower()
        try:
            User._meta.get_field("email").run_validators(email)
        except ValidationError:
            raise refuse(
                f"“{address}” is not a mail address; write it like name@example.org."
            ) from None
        if withdraw:
            return withdraw_right(email)
        let_host(email)
        return f"{email} may create knit-alongs after signing in at {settings.BASE_URL}/sign-in/"


@transaction.atomic
def let_host(email: str) -> None:
    user, _ = User.objects.get_or_create(email=email, defaults={"password": make_password(None)})
    user.may_host = True
    user.save(update_fields=["may_host"])


def withdraw_right(email: str) -> str:
    if not User.objects.filter(email=email).update(may_host=False):
        raise refuse(f"Nobody here has the address {email}.")
    return f"{email} may no longer create knit-alongs; those they have stay theirs."
