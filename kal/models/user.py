from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower

from kal.zones import validate_zone


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, **fields: Any) -> User:
        """Store and return a person who signs in by mailed code; there is no password to set."""
        user = self.model(email=email.strip().lower(), **fields)
        user.set_unusable_password()
        user.save(using=self._db)
        return user


class User(AbstractBaseUser, PermissionsMixin):
    """A person, known by their mail address, with the zone and units they read in."""

    class Units(models.TextChoices):
        METRIC = "metric", "grams and metres"
        IMPERIAL = "imperial", "ounces and yards"

    email = models.EmailField("mail address", unique=True)
    name = models.CharField("name", max_length=60, blank=True)
    zone = models.CharField("time zone", max_length=64, default="UTC", validators=[validate_zone])
    units = models.CharField(max_length=8, choices=Units, default=Units.METRIC)
    may_host = models.BooleanField("may create knit-alongs", default=False)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"

    class Meta:
        constraints = [models.UniqueConstraint(Lower("email"), name="one_user_per_address")]

    def __str__(self) -> str:
        # Never a part of the mail address: other participants read this.
        return self.name or "A knitter without a name yet"

    def get_full_name(self) -> str:
        return str(self)
