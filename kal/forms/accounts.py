"""Signing in, and what a person tells of themselves."""

from typing import Any

from allauth.core.internal.cryptokit import compare_user_code
from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _

from kal.forms.zone import ZoneField, ZoneSelect
from kal.models import User


class AddressForm(forms.Form):
    """The mail address a sign-in code goes to."""

    email = forms.EmailField(
        label=_("Mail address"),
        max_length=254,
        error_messages={
            "required": _("Type the mail address the code should go to."),
            "invalid": _("That is not a mail address; it needs an @, like name@example.org."),
        },
        widget=forms.EmailInput(attrs={"autocomplete": "email", "autofocus": True}),
    )

    def clean_email(self) -> str:
        return str(self.cleaned_data["email"]).lower()


class CodeForm(forms.Form):
    """The code that was mailed; its case, spaces and dashes do not matter."""

    code = forms.CharField(
        label=_("Code"),
        max_length=40,
        error_messages={"required": _("Type the code from the mail.")},
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "autofocus": True,
                "class": "code-input",
            }
        ),
    )

    def __init__(self, *args: Any, expected: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.expected = expected

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"])
        if not compare_user_code(actual=code, expected=self.expected):
            raise ValidationError(gettext("That is not the code in the mail."), code="wrong")
        return code


class SettingsForm(forms.ModelForm[User]):
    """The name others see, and the language, zone and units a person reads in."""

    class Meta:
        model = User
        fields = ("name", "language", "zone", "units")
        labels = {"name": _("The name you go by"), "units": _("Amounts of yarn in")}
        help_texts = {
            "name": _(
                "Other participants see it beside your palette. Your mail address stays "
                "hidden from them; organisers see both."
            ),
            "zone": _("Every date on these pages is shown in it."),
        }
        error_messages = {"name": {"required": _("Type a name for others to know you by.")}}
        widgets = {"name": forms.TextInput(attrs={"autocomplete": "nickname"})}

    def __init__(self, data: QueryDict | None = None, **kwargs: Any) -> None:
        if data is not None and "language" not in data:
            # A program that knows of no languages leaves the choice as it is.
            data = data.copy()
            data["language"] = kwargs["instance"].language or get_language()
        super().__init__(data, **kwargs)
        self.fields["name"].required = True
        self.fields["language"] = forms.ChoiceField(
            label=gettext("Language"),
            choices=settings.LANGUAGES,
            help_text=self.fields["language"].help_text,
            initial=get_language(),
            error_messages={"invalid_choice": gettext("Choose a language from the list.")},
        )
        self.initial["language"] = self.instance.language or get_language()
        is_new = not self.instance.name
        guess = {"data-guess-zone": ""} if is_new else {}
        self.fields["zone"] = ZoneField(
            help_text=self.fields["zone"].help_text, widget=ZoneSelect(attrs=guess)
        )
