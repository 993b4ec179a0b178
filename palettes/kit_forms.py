"""What a kit maker and the organiser may type about kits."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kal.models import User
from palettes.forms import YarnForm
from palettes.models import Kit, KitMaker, KitYarn


class MakerForm(forms.ModelForm[KitMaker]):
    """A shop or dyer to invite."""

    class Meta:
        model = KitMaker
        fields = ("name", "email")
        error_messages = {
            "name": {"required": _("Say who it is, as participants shall read it.")},
            "email": {"required": _("Type the mail address they will sign in with.")},
        }

    def clean_email(self) -> str:
        return str(self.cleaned_data["email"]).lower()

    def validate_unique(self) -> None:
        """Inviting an address again renews its invitation, so that is no mistake."""


class StockForm(forms.ModelForm[Kit]):
    """Link and stock, which the maker may say anew at any time."""

    class Meta:
        model = Kit
        fields = ("link", "stock")
        widgets = {
            "link": forms.URLInput(attrs={"placeholder": "https://"}),
            "description": forms.Textarea(attrs={"rows": 4}),
        }
        error_messages = {
            "link": {"invalid": _("Write the whole address, like https://shed.example/harbour.")}
        }


class KitForm(StockForm):
    """What a maker says about a kit: its name, a few words, link and stock."""

    class Meta(StockForm.Meta):
        fields = ("title", "description", "link", "stock")  # type: ignore[assignment]
        error_messages = StockForm.Meta.error_messages | {
            "title": {"required": _("Give the kit a name.")}
        }


class KitYarnForm(YarnForm):
    """Everything about one yarn of a kit, as of any other yarn."""

    class Meta(YarnForm.Meta):
        model = KitYarn  # type: ignore[assignment]

    def __init__(self, data: Any = None, *, user: User, instance: KitYarn) -> None:
        super().__init__(data, user=user, instance=instance)  # type: ignore[arg-type]
        self.fields["balls"].label = _("Balls in the kit")


class DeclineForm(forms.Form):
    """Why a kit is not shown, as its maker will read it."""

    reason = forms.CharField(
        label=_("Why not, as the maker will read it"),
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say why, so that the maker knows what would do.")},
    )
