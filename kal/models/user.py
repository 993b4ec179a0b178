from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kal.zones import validate_zone


def languages() -> list[tuple[str, str]]:
    """Return the languages by code and name; a callable, so that more need no migration."""
    return list(settings.LANGUAGES)


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, **fields: Any) -> User:
        """Store and return a person who signs in by mailed code; there is no password to set."""
        user = self.model(email=email.strip().lower(), **fields)
        user.set_unusable_password()
        user.save(using=self._db)
        return user


class User(AbstractBaseUser, PermissionsMixin):
    """A person, known by their mail address, with the language, zone and units they read in."""

    class Units(models.TextChoices):
        METRIC = "metric", _("grams and metres")
        IMPERIAL = "imperial", _("ounces and yards")

    email = models.EmailField(_("mail address"), unique=True)
    name = models.CharField("name", max_length=60, blank=True)
    zone = models.CharField(
        _("time zone"), max_length=64, default="UTC", validators=[validate_zone]
    )
    units = models.CharField(max_length=8, choices=Units, default=Units.METRIC)
    language = models.CharField(
        _("language"),
        max_length=12,
        blank=True,
        choices=languages,
        help_text=_("Of these pages and of your mail."),
    )
    may_host = models.BooleanField(_("may create knit-alongs"), default=False)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"

    class Meta:
        constraints = [models.UniqueConstraint(Lower("email"), name="one_user_per_address")]

    def __str__(self) -> str:
        # Never a part of the mail address: other participants read this.
        return self.name or gettext("A knitter without a name yet")

    @property
    def reads_imperial(self) -> bool:
        """Whether amounts are told in ounces, yards and feet."""
        return self.units == self.Units.IMPERIAL

    def get_full_name(self) -> str:
        return str(self)
