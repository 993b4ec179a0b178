"""What an organiser fills in to create or change a knit-along."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django import forms
from django.forms import BoundField
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kal.actions.knit_alongs import Needs
from kal.forms.faults import Fault, faults_of
from kal.forms.numbers import NumberField
from kal.forms.wall_time import WallTimeField
from kal.forms.zone import ZoneField
from kal.models import KnitAlong
from kal.models.knit_along import LETTERS, MAX_COLOURS, MIN_COLOURS
from kal.units import figures, plain
from kal.wall_times import REPEATED_HOUR_CHOICE, NoSuchWallTime, instant_of, wall_of
from kal.yarn_weights import guideline_warnings

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

# What the guideline of a yarn weight speaks of.
GUIDED = frozenset({"yarn_weight", "gauge_stitches", "needle_mm"})
# Model field that holds the instant -> the form field with its wall time.
WALL_TIMES = {
    "sign_up_opens_at": "sign_up_opens",
    "sign_up_closes_at": "sign_up_closes",
    "cast_on_at": "cast_on",
}
TENTH = Decimal("0.1")
COLOURS = format_lazy(
    _("A knit-along has {min_colours} to {max_colours} colours."),
    min_colours=MIN_COLOURS,
    max_colours=MAX_COLOURS,
)

AMOUNT_ERRORS = {
    "grams": {
        "required": _("Type how many grams one letter needs."),
        "invalid": _("Type the grams as a number, like 100."),
        "min_value": _("A letter needs at least 1 gram."),
        "max_value": _("A letter needs at most {most} grams."),
        "max_decimal_places": _("Type the grams to one decimal at most."),
    },
    "metres": {
        "required": _("Type how many metres one letter needs."),
        "invalid": _("Type the metres as a number, like 100."),
        "min_value": _("A letter needs at least 1 metre."),
        "max_value": _("A letter needs at most {most} metres."),
        "max_decimal_places": _("Type the metres to one decimal at most."),
    },
}


def amount_field(
    label: str | _StrPromise, unit: str, most: int, *, required: bool = True
) -> forms.DecimalField:
    """Return a field for grams or metres of one letter."""
    return NumberField(
        label=label,
        required=required,
        min_value=Decimal(1),
        max_value=Decimal(most),
        max_digits=6,
        decimal_places=1,
        error_messages={
            name: format_lazy(sentence, most=most) for name, sentence in AMOUNT_ERRORS[unit].items()
        },
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "0.1", "min": "1"}),
    )


def tidy(number: Decimal) -> Decimal:
    """Return the same number as a person would type it, 100 and not 100.0."""
    return Decimal(plain(number))


def initial_amounts(knit_along: KnitAlong) -> dict[str, Decimal]:
    """Return what a form starts from: the usual amounts, and both of each letter that differs.

    Usual is what most letters take, as whoever typed it put it; among equals the first letter's.

    Both, since one alone would mean that the other is to be reckoned from it.
    """
    needs = list(knit_along.needs.all())
    if not needs:
        return {}
    ((grams, metres), _times) = Counter((need.grams, need.metres) for need in needs).most_common(1)[
        0
    ]
    initial = {"grams": tidy(grams), "metres": tidy(metres)}
    for need in needs:
        own = {"grams": tidy(need.grams), "metres": tidy(need.metres)}
        if any(own[name] != initial[name] for name in own):
            initial |= {f"{name}_{need.letter}": amount for name, amount in own.items()}
    return initial


class KnitAlongForm(forms.ModelForm[KnitAlong]):
    """Everything of a knit-along but its clues; times are typed in the knit-along's own zone."""

    sign_up_opens = WallTimeField(label=_("Sign-up opens"))
    sign_up_closes = WallTimeField(label=_("Sign-up closes"))
    cast_on = WallTimeField(
        label=_("Cast-on"),
        help_text=format_lazy(
            _("When the first clue goes out. {repeated_hour_choice}"),
            repeated_hour_choice=REPEATED_HOUR_CHOICE,
        ),
    )
    grams = amount_field(_("Grams"), "grams", 5000)
    metres = amount_field(_("Metres"), "metres", 20000)

    class Meta:
        model = KnitAlong
        fields = (
            *("title", "theme", "zone", "colour_count", "yarn_weight", "needle_mm"),
            *("gauge_stitches", "gauge_rows", "clue_count", "cadence_days"),
            *("join_rule", "is_public"),
        )
        field_classes = {
            "needle_mm": NumberField,
            "gauge_stitches": NumberField,
            "gauge_rows": NumberField,
        }
        labels = {
            "title": _("Title"),
            "theme": _("Theme"),
            "yarn_weight": _("Yarn weight"),
            "join_rule": _("Who may join"),
            "is_public": _("Show its page to visitors"),
            "cadence_days": _("Days from one clue to the next"),
        }
        help_texts = {
            "zone": _("All times of this knit-along are typed and promised in it."),
            "is_public": _("Otherwise only those who take part, and those you invite, can see it."),
        }
        error_messages = {
            "title": {"required": _("Give the knit-along a title.")},
            "colour_count": {"min_value": COLOURS, "max_value": COLOURS},
            "clue_count": {
                "min_value": _("A knit-along has at least 1 clue."),
                "max_value": _("A knit-along has at most 30 clues."),
            },
            "cadence_days": {
                "min_value": _("Clues go out at least 1 day apart."),
                "max_value": _("Clues go out at most 60 days apart."),
            },
            "needle_mm": {
                "min_value": _("A needle is at least 1 mm thick."),
                "max_value": _("A needle is at most 35 mm thick."),
            },
            "gauge_stitches": {
                "min_value": _("Gauge is at least 2 stitches to 10 cm."),
                "max_value": _("Gauge is at most 80 stitches to 10 cm."),
            },
            "gauge_rows": {
                "min_value": _("Gauge is at least 2 rows to 10 cm."),
                "max_value": _("Gauge is at most 160 rows to 10 cm."),
            },
        }
        widgets = {"theme": forms.Textarea(attrs={"rows": 4})}

    def __init__(
        self, *args: Any, now: datetime, has_palettes: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.now = now
        self.is_new = self.instance.pk is None
        self.fields["theme"].help_text = gettext(
            "What a visitor may know before cast-on, with your own advice on choosing yarn. Those "
            "who take part read it where they prepare and on paper, too. An empty line begins a "
            "paragraph."
        )
        self.fields["zone"] = ZoneField(help_text=self.fields["zone"].help_text)
        # With palettes registered the number of colours is fixed, and the other letters never come.
        self.letters = self.instance.letters if has_palettes else LETTERS
        for letter in self.letters:
            for unit, label, most in (
                ("grams", gettext("{letter}, grams"), 5000),
                ("metres", gettext("{letter}, metres"), 20000),
            ):
                self.fields[f"{unit}_{letter}"] = amount_field(
                    label.format(letter=letter), unit, most, required=False
                )
        if has_palettes:
            self.fix_colour_count()
        if not self.is_new:
            self.start_from_stored()

    def fix_colour_count(self) -> None:
        field = self.fields["colour_count"]
        field.disabled = True
        field.help_text = gettext(
            "Palettes are registered, so the number of colours stays as it is."
        )

    def start_from_stored(self) -> None:
        # The clues have instants of their own by now, and their own page to move them on.
        del self.fields["cast_on"], self.fields["clue_count"]
        for name in ("needle_mm", "gauge_stitches", "gauge_rows"):
            self.initial[name] = tidy(self.initial[name])
        for stored, name in WALL_TIMES.items():
            self.initial[name] = wall_of(getattr(self.instance, stored), self.instance.tz)
        self.initial.update(initial_amounts(self.instance))

    def letter_rows(self) -> Iterator[tuple[str, BoundField, BoundField]]:
        """Yield each letter with its own grams and metres fields, for the template."""
        for letter in self.letters:
            yield letter, self[f"grams_{letter}"], self[f"metres_{letter}"]

    @property
    def has_letter_amounts(self) -> bool:
        """Whether a letter has an amount of its own or an error, so its fields must show."""
        return any(
            field.value() not in (None, "") or field.errors
            for _, *fields in self.letter_rows()
            for field in fields
        )

    def faults(self) -> list[Fault]:
        return list(faults_of(self))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self.set_instants()
        self.check_letters()
        if not self.errors:
            self.check_reckoned()
        return cleaned

    def set_instants(self) -> None:
        zone = self.cleaned_data.get("zone")
        if not zone:
            return
        for stored, name in WALL_TIMES.items():
            # An untouched field keeps its instant, even the second of an hour that comes twice.
            if (
                not self.is_new
                and name not in self.changed_data
                and "zone" not in self.changed_data
            ):
                continue
            if wall := self.cleaned_data.get(name):
                self.set_instant(stored, name, wall, ZoneInfo(zone))
        if not self.errors.keys() & {"sign_up_opens", "sign_up_closes"}:
            self.check_window()

    def set_instant(self, stored: str, name: str, wall: datetime, zone: ZoneInfo) -> None:
        try:
            instant = instant_of(wall, zone)
        except NoSuchWallTime as error:
            self.add_error(name, str(error))
            return
        if name == "cast_on" and instant <= self.now:
            self.add_error(name, gettext("Cast-on is in the past; choose a date and time to come."))
        setattr(self.instance, stored, instant)

    def check_window(self) -> None:
        if self.instance.sign_up_opens_at >= self.instance.sign_up_closes_at:
            self.add_error("sign_up_closes", gettext("Sign-up must close after it opens."))

    def check_letters(self) -> None:
        count = self.cleaned_data.get("colour_count")
        for letter in LETTERS[count:] if count else "":
            for name in ("grams", "metres"):
                if self.cleaned_data.get(f"{name}_{letter}"):
                    message = gettext(
                        "With {count} colours there is no letter {letter}; leave it empty."
                    ).format(count=count, letter=letter)
                    self.add_error(f"{name}_{letter}", message)

    def check_reckoned(self) -> None:
        """Ask for an amount that in proportion to the others would be none or too much."""
        for letter, amounts in self.needs().items():
            for name, amount in zip(("grams", "metres"), amounts, strict=True):
                field = self.fields[f"{name}_{letter}"]
                if not field.min_value <= amount <= field.max_value:  # type: ignore[attr-defined]
                    self.add_error(
                        f"{name}_{letter}",
                        gettext("Type this amount too: in proportion it would be {amount}.").format(
                            amount=figures(plain(amount))
                        ),
                    )

    def needs(self) -> Needs:
        """Return grams and metres by letter, after validation."""
        return {
            letter: self.need_of(letter) for letter in LETTERS[: self.cleaned_data["colour_count"]]
        }

    def need_of(self, letter: str) -> tuple[Decimal, Decimal]:
        """Return what a letter needs; where only one is typed, the other in proportion to all."""
        cleaned = self.cleaned_data
        all_grams, all_metres = cleaned["grams"], cleaned["metres"]
        grams, metres = cleaned[f"grams_{letter}"], cleaned[f"metres_{letter}"]
        if not grams and not metres:
            return all_grams, all_metres
        return (
            grams or (all_grams * metres / all_metres).quantize(TENTH),
            metres or (all_metres * grams / all_grams).quantize(TENTH),
        )

    def reckoned(self) -> list[str]:
        """Return a sentence for each letter of which one amount was reckoned from the other."""
        said = gettext(
            "Letter {letter}: {grams} g and {metres} m. What you left empty was reckoned in "
            "proportion; change it in the settings if your yarn is another."
        )
        return [
            said.format(letter=letter, grams=figures(plain(grams)), metres=figures(plain(metres)))
            for letter, (grams, metres) in self.needs().items()
            if bool(self.cleaned_data[f"grams_{letter}"])
            != bool(self.cleaned_data[f"metres_{letter}"])
        ]

    def warnings(self) -> list[str]:
        """Return what is unusual but allowed, after validation; once, when it is changed."""
        if GUIDED.isdisjoint(self.changed_data):
            return []
        return guideline_warnings(
            self.cleaned_data["yarn_weight"],
            stitches_to_10_cm=self.cleaned_data["gauge_stitches"],
            needle_mm=self.cleaned_data["needle_mm"],
        )
