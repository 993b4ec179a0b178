"""What somebody may ask of the gallery."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from palettes.colour.families import FAMILIES
from palettes.models import Kit
from palettes.models.yarn_facts import DyeStyle
from palettes.wanted import FIBRES, LEAST_GRADES, REACHES, RUNS, SCHEME_WORDS, SHARES, Wanted

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

type Choices = list[tuple[Any, Any]]

NO_SUCH: Final = {"invalid_choice": _("There is no such choice; here is the whole gallery.")}
MOST_LETTERS: Final = 80
# Asked less often, so kept behind one click until one of them is in use.
LESS_ASKED: Final = (
    "darkest",
    "lightest",
    "reach",
    "worst",
    "mean",
    "scheme",
    "fibre",
    "dye",
    "kit",
)


def _select(
    label: _StrPromise, nothing: _StrPromise, table: Mapping[str, _StrPromise] | None = None
) -> forms.ChoiceField:
    choices: Choices = [("", nothing), *(table or {}).items()]
    return forms.ChoiceField(label=label, required=False, choices=choices, error_messages=NO_SUCH)


def _lightness(label: _StrPromise) -> forms.IntegerField:
    message = _("Lightness L* is a whole number from 0 to 100; here is the whole gallery.")
    return forms.IntegerField(
        label=label,
        required=False,
        min_value=0,
        max_value=100,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), message),
    )


def _boxes(label: _StrPromise, choices: Choices) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label,
        required=False,
        choices=choices,
        widget=forms.CheckboxSelectMultiple,
        error_messages=NO_SUCH,
    )


class GalleryFilterForm(forms.Form):
    """What the palettes shown have in common; every field left empty asks nothing."""

    words = forms.CharField(
        label=_("Words in a yarn's name or fibre"),
        required=False,
        max_length=MOST_LETTERS,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    run = _select(_("Light or dark on the whole"), _("no matter"), RUNS)
    family = _boxes(_("Colours"), [(family.value, _(family.value)) for family in FAMILIES])
    match = _select(_("Which of the ticked colours"), _("any of them"), {"all": _("all of them")})
    share = _select(
        _("How many yarns in the ticked colours"),
        _("a yarn or more"),
        {k: v for k, v in SHARES.items() if k != "some"},
    )
    scheme = _select(_("Scheme"), _("any"), SCHEME_WORDS)
    worst = _select(_("Its worst pair is"), _("anything"), LEAST_GRADES)
    mean = _select(_("Its pairs on average are"), _("anything"), LEAST_GRADES)
    reach = _select(_("Lightness range"), _("any"), REACHES)
    darkest = _lightness(_("No yarn darker than L*"))
    lightest = _lightness(_("No yarn lighter than L*"))
    fibre = _select(_("Fibre"), _("any"), FIBRES)
    kit = _select(_("Kit"), _("any, or none"))
    dye = _boxes(_("A yarn of it is dyed"), [(style.value, _(style.value)) for style in DyeStyle])

    def __init__(self, data: QueryDict, *, kits: Iterable[Kit]) -> None:
        super().__init__(data, auto_id="gallery-%s", label_suffix="")
        self.kits = {kit.pk: kit.title for kit in kits}
        if self.kits:
            field = self.fields["kit"]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", _("any, or none")), *((str(k), v) for k, v in self.kits.items())]
        else:
            del self.fields["kit"]

    @property
    def wanted(self) -> Wanted:
        """What is asked for; nothing when the form does not hold."""
        if not self.is_valid():
            return Wanted()
        asked = dict(self.cleaned_data)
        asked["kit"] = int(asked.get("kit") or 0) or None
        asked |= {name: tuple(asked[name]) for name in ("family", "dye")}
        return Wanted(**asked)

    @property
    def first_error(self) -> str:
        """One sentence on what does not hold, or ''."""
        return next((str(error) for errors in self.errors.values() for error in errors), "")

    @property
    def is_open(self) -> bool:
        """Whether one of the fields that are asked less often is in use."""
        return any(self.data.get(name) for name in LESS_ASKED)
