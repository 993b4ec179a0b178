"""How this site uses django-allauth: who may sign in, and where they go next."""

from allauth.account.adapter import DefaultAccountAdapter


class AccountAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """The library's own behaviour, as settings.py shapes it."""
