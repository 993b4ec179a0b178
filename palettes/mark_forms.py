"""What a participant may say of a photo: its light, where the yarns are, and whose each is."""

from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from palettes.colour.light import Box
from palettes.marking import MAX_MARKS
from palettes.models import AnyMark, AnyPhoto, KitYarn, Mark, Yarn
from palettes.models.yarn_facts import DyeStyle

# Per cent. The browser rounds each side to a tenth, so two of them may pass the edge by as much.
SLACK: Final = 0.11
NEW: Final = "new"


class LightForm(forms.Form):
    """What white thing the photo shows, and whether its light is to be trusted."""

    white = forms.ChoiceField(
        label=_("Is something white or grey in the photo?"),
        required=False,
        widget=forms.RadioSelect,
        choices=[
            ("", _("nothing of the kind")),
            (Mark.Kind.PAPER.value, _("white paper")),
            (Mark.Kind.GREY_CARD.value, _("a photographer's grey card")),
        ],
    )
    is_light_trusted = forms.BooleanField(
        label=_("Trust the light anyway: the yarns themselves are like this"), required=False
    )

    def __init__(self, data: Any = None, *, photo: AnyPhoto, white: AnyMark | None) -> None:
        initial = {
            "white": white.kind if white else "",
            "is_light_trusted": photo.is_light_trusted,
        }
        super().__init__(data, initial=initial, auto_id="light-%s", label_suffix="")


class BoxForm(forms.Form):
    """Where one box lies: per cent of the photo's width and height, from its top left corner."""

    left = forms.FloatField(label=_("From the left, %"), min_value=0, max_value=100)
    top = forms.FloatField(label=_("From the top, %"), min_value=0, max_value=100)
    width = forms.FloatField(label=_("Width, %"), min_value=0.5, max_value=100)
    height = forms.FloatField(label=_("Height, %"), min_value=0.5, max_value=100)

    SIDES: Final = ("left", "top", "width", "height")

    def __init__(self, data: Any = None, *, mark: AnyMark) -> None:
        self.mark = mark
        initial = {name: f"{value:.1f}" for name, value in _per_cents(mark.box).items()}
        super().__init__(
            data,
            initial=initial | self.first_values(),
            prefix=f"mark-{mark.pk}",
            auto_id="%s",
            label_suffix="",
        )
        for name in self.SIDES:
            self.fields[name].widget.attrs |= {"step": "0.1", "data-side": name}

    def first_values(self) -> dict[str, Any]:
        return {}

    def clean(self) -> dict[str, Any]:
        found = self.cleaned_data
        for start, size, end in (("left", "width", _("right")), ("top", "height", _("lower"))):
            if start in found and size in found and found[start] + found[size] > 100 + SLACK:
                self.add_error(
                    size,
                    ValidationError(
                        _("The box passes the photo's %(end)s edge; make it smaller or move it."),
                        params={"end": end},
                    ),
                )
        return found

    @property
    def box(self) -> Box:
        """The box the form asks for; the stored one when it was only shown in tenths."""
        if not any(name in self.changed_data for name in self.SIDES):
            stored: Box = self.mark.box
            return stored
        left, top, width, height = (self.cleaned_data[name] / 100 for name in self.SIDES)
        return Box(left, top, min(left + width, 1.0), min(top + height, 1.0))

    def fill(self) -> AnyMark:
        """Return the mark as the form has it, not stored."""
        self.mark.box = self.box
        return self.mark

    @property
    def sides(self) -> list[forms.BoundField]:
        return [self[name] for name in self.SIDES]


class YarnMarkForm(BoxForm):
    """Where one yarn is, whose it is, and how it is dyed when it looks otherwise."""

    target = forms.ChoiceField(label=_("This is"), required=False)
    name = forms.CharField(label=_("Name of the new yarn"), max_length=120, required=False)
    dye_style = forms.ChoiceField(
        label=_("Dyed"), required=False, choices=[("", _("as it looks")), *DyeStyle.choices]
    )
    was = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(
        self, data: Any = None, *, mark: AnyMark, yarns: QuerySet[Yarn] | QuerySet[KitYarn]
    ) -> None:
        self.yarns = {str(yarn.pk): yarn for yarn in yarns}
        super().__init__(data, mark=mark)
        names = [(key, yarn.name) for key, yarn in self.yarns.items()]
        self.fields["target"].choices = [  # type: ignore[attr-defined]
            ("", _("left out for now")),
            (NEW, _("a new yarn")),
            *names,
        ]

    def first_values(self) -> dict[str, Any]:
        mark = self.mark
        own = str(mark.yarn_id or "")
        return {
            "target": NEW if mark.is_new else own,
            "name": mark.new_name,
            "dye_style": mark.dye_style,
            "was": own,
        }

    def fill(self) -> AnyMark:
        mark, found = super().fill(), self.cleaned_data
        mark.dye_style = found["dye_style"]
        # Sent again after its answer was lost: by then the new yarn is there, and the box is its.
        if found["target"] == NEW and mark.yarn_id and not found["was"]:
            return mark
        mark.yarn = self.yarns.get(found["target"])
        mark.is_new = found["target"] == NEW
        mark.new_name = found["name"] if mark.is_new else ""
        return mark


class CountForm(forms.Form):
    """How many yarns to look for."""

    count = forms.IntegerField(
        label=_("Yarns in the photo"), min_value=1, max_value=MAX_MARKS, widget=forms.NumberInput
    )

    def __init__(self, data: Any = None, *, count: int) -> None:
        super().__init__(data, initial={"count": count}, auto_id="find-%s", label_suffix="")


class SpotForm(forms.Form):
    """Where the photo was clicked, in per cent."""

    at_x = forms.FloatField(min_value=0, max_value=100)
    at_y = forms.FloatField(min_value=0, max_value=100)


def _per_cents(box: Box) -> dict[str, float]:
    return {
        "left": box.left * 100,
        "top": box.top * 100,
        "width": (box.right - box.left) * 100,
        "height": (box.bottom - box.top) * 100,
    }
