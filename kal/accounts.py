"""How this site uses django-allauth: a code by mail, and an account for whoever shows it back."""

from __future__ import annotations

from allauth.account.adapter import DefaultAccountAdapter, get_adapter
from allauth.account.internal.flows.login import perform_login, record_authentication
from allauth.account.internal.flows.login_by_code import LoginCodeVerificationProcess
from allauth.account.models import EmailAddress, Login
from allauth.account.stages import LoginByCodeStage, LoginStageController
from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils.translation import get_language

from kal.models import User


class AccountAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """The library's own behaviour, as settings.py shapes it."""


class SignIn(LoginCodeVerificationProcess):  # type: ignore[misc]
    """One sign-in under way, kept in the session of the browser that asked for the code.

    Whether the address has an account is looked up only after its holder has shown the code,
    so nobody else can learn it, and nothing is stored about an address that was merely typed.
    """

    @classmethod
    def begin(cls, request: HttpRequest, email: str) -> None:
        """Mail a code to the address and remember it in the session."""
        login = Login(email=email)
        login.state["stages"] = {"current": LoginByCodeStage.key}
        stage = LoginByCodeStage(LoginStageController(request, login), request, login)
        stage.state.update(cls.initial_state(user=None, email=email), initiated_by_user=True)
        process = cls(stage=stage)
        process.send()
        process.persist()

    @classmethod
    def pending(cls, request: HttpRequest) -> SignIn | None:
        """Return the sign-in this browser has under way, still good or expired, or None."""
        stage = LoginStageController.enter(request, LoginByCodeStage.key)
        return cls(stage=stage) if stage and stage.state.get("code") else None

    @property
    def email(self) -> str:
        return str(self.state["email"])

    def send_by_email(self, email: str, skip_enumeration_mails: bool = False) -> None:
        context = {"code": self.generate_code(), "minutes": self.timeout // 60}
        get_adapter().send_mail("account/email/login_code", email, context)

    def finish(self, redirect_url: str | None) -> HttpResponse:
        """Sign in the person who holds the mailbox, new here or not, and send them on."""
        user = admit(self.email)
        record_authentication(self.request, user, method="code", email=self.email)
        login = Login(user=user, redirect_url=redirect_url, email=self.email)
        response: HttpResponse = perform_login(self.request, login)
        return response


@transaction.atomic
def admit(email: str) -> User:
    """Return the person of an address that was just proven, storing them if they are new."""
    user, _ = User.objects.get_or_create(
        email=email, defaults={"password": make_password(None), "language": get_language() or ""}
    )
    EmailAddress.objects.update_or_create(
        user=user, email=email, defaults={"verified": True, "primary": True}
    )
    return user
