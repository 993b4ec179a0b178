"""What a participant may send about yarn and pace, and an organiser about the reserve."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kal.forms.numbers import NumberField
from kal.models import Participant
from kal.units import GRAMS_PER_OUNCE, METRES_PER_YARD, ounces, plain, weight_text
from schedule.models import Clue, OwnKnitting, WeighIn
from schedule.models.knitting import DIVISIONS
from schedule.models.weigh_in import MOST_GRAMS
from schedule.pattern.pace import timed_pace

BEFORE = "before"
PLACES = (
    ("0.25", gettext_lazy("a quarter")),
    ("0.5", gettext_lazy("half")),
    ("0.75", gettext_lazy("three quarters")),
    ("1", gettext_lazy("all of it")),
)
GRAM, HUNDREDTH = Decimal("0.001"), Decimal("0.01")
MOST_TYPED = 10 * MOST_GRAMS  # beyond it there is nothing to round


def number_field(label: Any, *, least: str, most: str, **kwargs: Any) -> forms.DecimalField:
    """Return a field for a number from `least` to `most`, with a keypad on a phone."""
    return NumberField(
        label=label,
        min_value=Decimal(least),
        max_value=Decimal(most),
        max_digits=9,
        decimal_places=3,
        error_messages={
            "required": gettext_lazy("Type a number."),
            "invalid": gettext_lazy("Type a number, like 42 or 42.5."),
            "min_value": gettext_lazy("It must be %(limit_value)s or more."),
            "max_value": gettext_lazy("It must be %(limit_value)s or less."),
        },
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        **kwargs,
    )


class WeightField(NumberField):
    """Grams, typed in the reader's units."""

    def __init__(self, *, imperial: bool, least: str, **kwargs: Any) -> None:
        self.imperial, self.least = imperial, Decimal(least)
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(max_digits=9, widget=widget, **kwargs)
        self.error_messages |= {
            "required": _("Type what the scale says."),
            "invalid": _("Type a number, like 42 or 42.5."),
        }

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        amount = super().to_python(value)
        if amount is None or not amount.is_finite() or abs(amount) > MOST_TYPED:
            return amount  # for `validate` to refuse
        grams = amount * GRAMS_PER_OUNCE if self.imperial else amount
        return grams.quantize(GRAM)

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is None:
            return
        if value < 0:
            raise ValidationError(_("A weight cannot be less than nothing."))
        if value < self.least:
            raise ValidationError(_("It must be more than nothing."))
        if value > MOST_GRAMS:
            raise too_much(imperial=self.imperial)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Decimal):
            return value
        return plain(ounces(value).quantize(HUNDREDTH) if self.imperial else value)


def too_much(*, imperial: bool) -> ValidationError:
    """Return the refusal of more yarn than anybody has of one colour."""
    most = weight_text(Decimal(MOST_GRAMS), imperial=imperial)
    return ValidationError(
        _("More than %(most)s of one colour; look at it again."), params={"most": most}
    )


class WeighInForm(forms.Form):
    """Which letter, where in the pattern, how much is left; `bought` only where it changed."""

    def __init__(
        self,
        *args: Any,
        letters: str,
        clues: Sequence[Clue],
        bought: Mapping[str, Decimal],
        imperial: bool,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.clues, self.bought = {str(clue.pk): clue for clue in clues}, bought
        self.imperial = imperial
        unit = _("oz") if imperial else _("g")
        wrong_letter = _("This knit-along has no colour %(value)s; its letters are %(known)s.")
        self.fields["letter"] = forms.ChoiceField(
            label=_("Colour"),
            choices=[(letter, letter) for letter in letters],
            widget=forms.RadioSelect,
            error_messages={
                "required": _("Say which colour is on the scale."),
                "invalid_choice": wrong_letter.replace("%(known)s", " ".join(letters)),
            },
        )
        self.fields["left"] = WeightField(
            label=_("Left on the scale, %(unit)s") % {"unit": unit}, imperial=imperial, least="0"
        )
        self.fields["clue"] = forms.ChoiceField(
            label=_("Knitted up to"),
            choices=[
                *(
                    (key, _("Clue %(number)d") % {"number": clue.number})
                    for key, clue in reversed(self.clues.items())
                ),
                (BEFORE, _("Before casting on")),
            ],
            error_messages={"invalid_choice": _("Choose a clue that is out.")},
        )
        self.fields["share"] = forms.ChoiceField(label=_("How much of it"), choices=PLACES)
        self.fields["row"] = forms.IntegerField(
            label=_("Or the last row you finished"),
            required=False,
            min_value=0,
            max_value=100_000,
            widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
            help_text=_("Counted within the clue; the page of its rows shows them."),
        )
        self.fields["bought"] = WeightField(
            label=_("All I ever had of this colour, %(unit)s") % {"unit": unit},
            imperial=imperial,
            least="0.001",
            required=False,
            help_text=_("Only if you bought more, or the balls are not what your palette says."),
        )

    def clean(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        letter = cleaned.get("letter")
        if letter and "bought" in cleaned and cleaned["bought"] is None:
            cleaned["bought"] = self.bought.get(letter)
            if cleaned["bought"] is None:
                self.add_error(
                    "bought",
                    _(
                        "Your palette does not say how much %(letter)s weighs; put in all you "
                        "bought of it."
                    )
                    % {"letter": letter},
                )
            elif cleaned["bought"] > MOST_GRAMS:
                self.add_error("bought", too_much(imperial=self.imperial))
        return cleaned

    def fill(self, weigh_in: WeighIn) -> WeighIn:
        """Return the weigh-in with what was typed, after validation."""
        cleaned = self.cleaned_data
        weigh_in.letter = cleaned["letter"]
        weigh_in.clue = self.clues.get(cleaned["clue"])
        weigh_in.row = cleaned["row"] if weigh_in.clue else None
        weigh_in.share = Decimal(cleaned["share"]) if weigh_in.clue else Decimal(0)
        weigh_in.left, weigh_in.bought = cleaned["left"], cleaned["bought"]
        return weigh_in

    @staticmethod
    def initial_of(weigh_in: WeighIn) -> dict[str, Any]:
        return {
            "letter": weigh_in.letter,
            "left": weigh_in.left,
            "clue": str(weigh_in.clue_id or BEFORE),
            "share": f"{weigh_in.share.normalize():f}" if weigh_in.clue_id else "1",
            "row": weigh_in.row,
            "bought": weigh_in.bought,
        }


class OwnKnittingForm(forms.Form):
    """One's own needle and gauge, empty where they are as the pattern's; the scale's step."""

    needle_mm = number_field(gettext_lazy("My needle, mm"), least="1", most="35", required=False)
    gauge_stitches = number_field(
        gettext_lazy("My stitches to 10 cm"), least="2", most="80", required=False
    )
    gauge_rows = number_field(
        gettext_lazy("My rows to 10 cm"), least="2", most="160", required=False
    )
    division = forms.TypedChoiceField(
        label=gettext_lazy("My scale reads in steps of"), coerce=Decimal
    )

    def __init__(self, *args: Any, participant: Participant, imperial: bool, **kwargs: Any) -> None:
        own = own_knitting_of(participant)
        initial = {
            name: getattr(own, name) for name in ("needle_mm", "gauge_stitches", "gauge_rows")
        }
        initial["division"] = plain(own.division)
        super().__init__(*args, **{"initial": initial, **kwargs})
        self.fields["division"].choices = [  # type: ignore[attr-defined]
            (step, _("0.1 oz") if step == "2.83" else f"{step} g") for step in DIVISIONS
        ]
        self.fields["gauge_rows"].help_text = _("Counts where you give your stitches too.")

    def clean(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        has_rows_alone = cleaned.get("gauge_rows") and not cleaned.get("gauge_stitches")
        if has_rows_alone and "gauge_stitches" not in self.errors:
            self.add_error("gauge_stitches", _("Give your stitches to 10 cm beside the rows."))
        return cleaned


def own_knitting_of(participant: Participant) -> OwnKnitting:
    """Return how the participant knits, an unsaved row of defaults where nothing was kept."""
    found = OwnKnitting.objects.filter(participant=participant).first()
    return found or OwnKnitting(participant=participant)


class MixForm(forms.Form):
    """A length to cover and the balls that a shop has, in the reader's units."""

    def __init__(self, *args: Any, imperial: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.imperial = imperial
        unit = _("yd") if imperial else _("m")
        labels = {
            "need": _("I need, %(unit)s"),
            "first": _("One kind of ball has, %(unit)s"),
            "second": _("The other kind has, %(unit)s"),
        }
        for name, label in labels.items():
            self.fields[name] = number_field(label % {"unit": unit}, least="1", most="20000")

    def metres(self, name: str) -> Decimal:
        typed: Decimal = self.cleaned_data[name]
        return typed * METRES_PER_YARD if self.imperial else typed


class PaceForm(forms.Form):
    """Stitches counted, and the time they took."""

    stitches = forms.IntegerField(
        label=gettext_lazy("Stitches I knitted"),
        min_value=1,
        max_value=10_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    minutes = number_field(
        gettext_lazy("Minutes it took"), least="0.1", most="600", help_text=gettext_lazy("Like 4.5")
    )

    def clean(self) -> dict[str, Any]:
        if not self.errors:
            pace = timed_pace(self.cleaned_data["stitches"], float(self.cleaned_data["minutes"]))
            if not 1 <= pace.per_minute <= 200:
                raise ValidationError(
                    _("That is %(pace).1f stitches a minute; between 1 and 200 can be believed."),
                    params={"pace": pace.per_minute},
                )
            self.cleaned_data["per_minute"] = pace.per_minute
        return self.cleaned_data


class ReserveForm(forms.Form):
    percent = forms.IntegerField(
        label=gettext_lazy("Reserve in what you ask for, per cent"),
        min_value=0,
        max_value=100,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "min": 0, "max": 100}),
    )
