"""What a participant may type about a yarn, and what is made of it."""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kal.models import User
from kal.units import GRAMS_PER_OUNCE, METRES_PER_YARD, WHOLE, figures, plain
from palettes.colour.errors import BadHexColour
from palettes.colour.quantities import grams_on_band, metres_on_band
from palettes.colour.spaces import hex_to_lab, parse_hex
from palettes.errors import BadFibre
from palettes.fibre import parse_fibre
from palettes.models import Yarn
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import KINDS, MAX_BYTES, too_large

THOUSANDTH: Final = Decimal("0.001")
HUNDREDTH: Final = Decimal("0.01")
_AMOUNT: Final = re.compile(r"[-+]?(\d{1,9}([.,]\d{1,3})?|[.,]\d{1,3})")
_THOUSANDS: Final = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+")


def _as_typed(amount: Decimal) -> Decimal:
    return amount


class AmountField(forms.Field):
    """An amount typed in the person's own unit and handed on in grams, metres or balls.

    A text box rather than a number box, so that what cannot be read stays in it to be seen; a
    decimal comma is read as well as a point. `meant` says what was meant by what was typed.
    """

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def __init__(
        self,
        label: str,
        *,
        example: str,
        most: int,
        factor: Decimal = WHOLE,
        meant: Callable[[Decimal], Decimal] = _as_typed,
        may_be_zero: bool = False,
    ) -> None:
        super().__init__(label=label, required=False)
        self.example, self.most = example, most
        self.factor, self.meant, self.may_be_zero = factor, meant, may_be_zero

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, Decimal | int):
            return figures(plain((value / self.factor).quantize(HUNDREDTH)))
        return value

    def clean(self, value: Any) -> Decimal | None:
        text = str(value or "").strip()
        if not text:
            return None
        amount = self.meant(self._read(text)).quantize(THOUSANDTH)
        if amount < 0 or (amount == 0 and not self.may_be_zero):
            said = (
                gettext("This must be 0 or more, {example}; {text} is not.")
                if self.may_be_zero
                else gettext("This must be more than 0, {example}; {text} is not.")
            )
            raise ValidationError(said.format(example=self.example, text=text))
        if amount > self.most:
            most = plain((self.most / self.factor).quantize(WHOLE))
            raise ValidationError(
                gettext("{text} cannot be right; the most that fits here is {most}.").format(
                    text=text, most=most
                )
            )
        return amount

    def _read(self, text: str) -> Decimal:
        # Where the decimal mark is a comma, a point may part thousands: 1.200 metres.
        if _THOUSANDS.fullmatch(text if figures(".") == "." else text.replace(".", ",")):
            raise ValidationError(
                gettext("“{text}” can be read two ways; leave the comma out.").format(text=text)
            )
        if not _AMOUNT.fullmatch(text):
            raise ValidationError(
                gettext("“{text}” is not an amount; write a number {example}.").format(
                    text=text, example=self.example
                )
            )
        return Decimal(text.replace(",", "."))


def weight_label(*, imperial: bool) -> str:
    """Return what the field for one ball's weight is called."""
    return gettext("Ounces in one ball") if imperial else gettext("Grams in one ball")


def weight_field(*, imperial: bool) -> AmountField:
    """Return the field for one ball's weight, read in ounces or grams and kept in grams."""
    label = weight_label(imperial=imperial)
    if imperial:
        return AmountField(
            label,
            example=gettext("like 3.5"),
            most=2000,
            factor=GRAMS_PER_OUNCE,
            meant=grams_on_band,
        )
    return AmountField(label, example=gettext("like 100"), most=2000)


def length_field(*, imperial: bool) -> AmountField:
    """Return the field for one ball's length, read in yards or metres and kept in metres."""
    if imperial:
        return AmountField(
            gettext("Yards in one ball"),
            example=gettext("like 437"),
            most=20000,
            factor=METRES_PER_YARD,
            meant=metres_on_band,
        )
    return AmountField(gettext("Metres in one ball"), example=gettext("like 400"), most=20000)


def balls_field() -> AmountField:
    """Return the field for the number of balls held; half a ball counts."""
    return AmountField(
        gettext("Balls you have"),
        example=gettext("like 2 or 0.5"),
        most=200,
        may_be_zero=True,
    )


class ColourField(forms.CharField):
    """A colour as '#rrggbb'; the page's script puts a colour picker beside it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(label=_("Colour"), max_length=40, strip=True, **kwargs)
        self.error_messages["required"] = _("Give the yarn a colour, like #7a4b2c.")
        self.widget.attrs |= {
            "data-colour": "",
            "data-pick": _("Pick the colour by eye"),
            "spellcheck": "false",
            "autocomplete": "off",
            "placeholder": "#7a4b2c",
        }

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        try:
            return parse_hex(text)
        except BadHexColour:
            raise ValidationError(
                gettext(
                    "“{text}” is not a colour code; write one like #7a4b2c, or pick the colour by "
                    "eye. The name of a colour does not say which of its shades the yarn is."
                ).format(text=text)
            ) from None


class YarnForm(forms.ModelForm[Yarn]):
    """Everything about one yarn. Each value stands alone, so one refused keeps no other back."""

    class Meta:
        model = Yarn
        labels = {
            "dye_style": _("Dye style"),
            "fibre": _("Fibre"),
            "construction": _("Construction"),
            "care": _("Care"),
        }
        help_texts = {
            "dye_style": _(
                "How far its colours stray; a usual amount, until a photo tells it better."
            )
        }
        fields = [
            "name",
            "dye_style",
            "fibre",
            "construction",
            "care",
            "put_up_grams",
            "put_up_metres",
            "balls",
        ]

    colour = ColourField(
        help_text=_(
            "Pick it by eye, or type its colour code, like #7a4b2c: many shops and drawing "
            "programs give one."
        )
    )

    field_order = ["name", "colour"]

    def __init__(self, data: Any = None, *, user: User, instance: Yarn | None = None) -> None:
        # Several editors may be open on one page, so each names its boxes by its yarn.
        number = instance.pk if instance else "new"
        super().__init__(data, instance=instance, auto_id=f"yarn-{number}-%s")
        imperial = user.reads_imperial
        self.fields["put_up_grams"] = weight_field(imperial=imperial)
        self.fields["put_up_metres"] = length_field(imperial=imperial)
        self.fields["balls"] = balls_field()
        self.fields["name"].error_messages["required"] = gettext("Give the yarn a name.")
        if self.instance.pk:
            self.initial["colour"] = self.instance.hex

    def clean_fibre(self) -> str:
        text = str(self.cleaned_data["fibre"])
        try:
            parse_fibre(text)
        except BadFibre as error:
            raise ValidationError(str(error)) from None
        return text

    def clean_balls(self) -> Decimal:
        balls = self.cleaned_data["balls"]
        return Decimal(0) if balls is None else balls.quantize(HUNDREDTH)

    def clean(self) -> dict[str, Any]:
        # A colour measured in a photo is finer than the hex code shown for it, so only another
        # code replaces it.
        colour = self.cleaned_data.get("colour")
        if colour and colour != self.initial.get("colour"):
            self.instance.lab = hex_to_lab(colour)
            self.instance.spread = 0.0
            self.instance.measured_by = MeasuredBy.PICKER
            self.instance.photo = self.instance.region = None
        return self.cleaned_data

    @property
    def accepted_fields(self) -> list[str]:
        """The model fields that hold a value the form accepts, for saving those alone."""
        names = [name for name in self.cleaned_data if name in self.Meta.fields]
        if "colour" in self.cleaned_data:
            names += ["lab_l", "lab_a", "lab_b", "spread", "measured_by", "photo", "region"]
        return names


class NewYarnForm(YarnForm):
    """The least a new yarn needs; the rest is filled in afterwards."""

    class Meta(YarnForm.Meta):
        fields = ["name", "dye_style"]

    def __init__(self, data: Any = None, *, user: User) -> None:
        super().__init__(data, user=user)
        for name in ("put_up_grams", "put_up_metres", "balls"):
            del self.fields[name]


class PhotoForm(forms.Form):
    """One photo to upload."""

    photo = forms.FileField(
        label=_("Photo"),
        help_text=(
            format_lazy(
                _(
                    "{kinds}, up to {max_bytes} MB and 60 megapixels. Only the pixels are "
                    "kept: where and when it was taken is removed before it is stored."
                ),
                kinds=KINDS,
                max_bytes=MAX_BYTES // 1000000,
            )
        ),
        error_messages={
            "required": format_lazy(_("Choose a photo to upload: a {kinds} file."), kinds=KINDS),
            "empty": _("That file is empty; choose a photo."),
        },
        widget=forms.FileInput(
            attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,image/heif,image/avif"}
        ),
    )

    def clean_photo(self) -> bytes:
        upload = self.cleaned_data["photo"]
        if upload.size > MAX_BYTES:
            raise ValidationError(too_large(upload.size))
        return bytes(upload.read())
