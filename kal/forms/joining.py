"""Joining, the wishes of whoever joined, and the organiser's codes and list."""

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.text import format_lazy
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from kal.actions.joining import NO_CODE
from kal.buyers_file import MOST_BYTES, BadBuyersFile, BuyersFile, read_buyers_file
from kal.forms.wall_time import WallTimeField
from kal.models import JoinCode, KnitAlong, Participant, Removal
from kal.wall_times import NoSuchWallTime, instant_of

MOST_CODES_AT_ONCE = 200  # our choice: enough for a shop's box of yarn, and one page of print
MOST_CODES_IN_A_BATCH = 1000  # our choice: a hundred sheets of ten cards, printed in seconds
MOST_ADDRESSES_AT_ONCE = 5000  # our choice: a whole knit-along in one paste
BAD_ROWS_SHOWN = 20


class WishesForm(forms.ModelForm[Participant]):
    """What a participant agrees to."""

    class Meta:
        model = Participant
        fields = ("shows_palette", "wants_notices", "lends_photos")
        labels = {
            "shows_palette": _("Show my palette in the gallery"),
            "wants_notices": _("Mail me the news: clues, corrections, changed dates, answers"),
            "lends_photos": _(
                "The organiser may show photos I post elsewhere, like in a newsletter"
            ),
        }


class JoinForm(WishesForm):
    """Wishes, and the join code where the knit-along's rule asks for one."""

    code = forms.CharField(
        label=_("Join code"),
        max_length=60,
        error_messages={"required": NO_CODE},
        widget=forms.TextInput(
            attrs={"autocapitalize": "characters", "spellcheck": "false", "class": "code-input"}
        ),
    )
    field_order = ("code", "shows_palette", "wants_notices", "lends_photos")

    def __init__(self, *args: Any, asks_code: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not asks_code:
            del self.fields["code"]


class JoinCodeForm(forms.ModelForm[JoinCode]):
    """New join codes: how many, for how many people each, and how long they are good."""

    count = forms.IntegerField(
        label=_("How many codes"),
        initial=1,
        min_value=1,
        max_value=MOST_CODES_AT_ONCE,
        error_messages={
            "min_value": _("Make at least 1 code."),
            "max_value": format_lazy(
                _("Make at most {most_codes_at_once} codes at once."),
                most_codes_at_once=MOST_CODES_AT_ONCE,
            ),
        },
    )
    good_until = WallTimeField(label=_("Good until"), required=False)

    class Meta:
        model = JoinCode
        fields = ("label", "most_uses")
        labels = {"label": _("Note to yourself"), "most_uses": _("People each code admits")}
        help_texts = {
            "label": _("Who the codes are for, like “parcels of 3 March”."),
            "most_uses": _("Leave it empty for no limit."),
        }
        error_messages = {"most_uses": {"min_value": _("A code admits at least 1 person.")}}

    field_order = ("count", "most_uses", "good_until", "label")

    def __init__(self, *args: Any, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.now = now
        zone = self.instance.knit_along.zone
        self.fields["good_until"].help_text = gettext(
            "In the zone of the knit-along, {zone}."
        ).format(zone=zone)

    def clean_good_until(self) -> datetime | None:
        wall = self.cleaned_data["good_until"]
        self.instance.expires_at = instant_to_come(wall, self.instance.knit_along, self.now)
        return self.instance.expires_at


def instant_to_come(wall: datetime | None, knit_along: KnitAlong, now: datetime) -> datetime | None:
    """Return the instant of a wall time in the knit-along's zone; one that passed is refused."""
    if wall is None:
        return None
    try:
        instant = instant_of(wall, knit_along.tz)
    except NoSuchWallTime as error:
        raise ValidationError(str(error)) from None
    if instant <= now:
        raise ValidationError(
            gettext("That time has passed; choose one to come, or leave it empty.")
        )
    return instant


class JoinListForm(forms.Form):
    """Mail addresses, one a line or parted by commas; all are good or each bad row is named."""

    addresses = forms.CharField(
        label=_("Mail addresses to add"),
        help_text=_("One a line, or parted by commas. Adding one twice does no harm."),
        error_messages={"required": _("Paste at least one mail address.")},
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
    )

    def clean_addresses(self) -> list[str]:
        rows = self.cleaned_data["addresses"].replace(",", "\n").replace(";", "\n").splitlines()
        numbered = [(number, row.strip()) for number, row in enumerate(rows, 1) if row.strip()]
        if len(numbered) > MOST_ADDRESSES_AT_ONCE:
            raise ValidationError(
                gettext(
                    "Paste at most {most_addresses_at_once} addresses at once; these are "
                    "{numbered}."
                ).format(most_addresses_at_once=MOST_ADDRESSES_AT_ONCE, numbered=len(numbered))
            )
        bad = [(number, row) for number, row in numbered if not is_address(row)]
        if bad:
            raise ValidationError(sentences_about(bad))
        return sorted({row.lower() for _, row in numbered})


def is_address(row: str) -> bool:
    try:
        validate_email(row)
    except ValidationError:
        return False
    return len(row) <= 254


def sentences_about(bad: list[tuple[int, str]]) -> list[str]:
    shown = [
        gettext("Entry {number}, “{row}”, is not a mail address.").format(
            number=number, row=row[:60]
        )
        for number, row in bad[:BAD_ROWS_SHOWN]
    ]
    more = len(bad) - len(shown)
    if more:
        said = ngettext(
            "And {count} more row like these.", "And {count} more rows like these.", more
        )
        shown.append(said.format(count=more))
    return shown


class BatchForm(forms.Form):
    """A batch of single-use codes: for whom, how many, and how long they are good."""

    label = forms.CharField(
        label=_("Name of the batch"),
        max_length=80,
        help_text=_("Who the codes are for, like “parcels of 3 March”."),
        error_messages={"required": _("Name the batch, so that you find it again.")},
    )
    count = forms.IntegerField(
        label=_("How many codes"),
        min_value=1,
        max_value=MOST_CODES_IN_A_BATCH,
        error_messages={
            "required": _("Say how many codes."),
            "min_value": _("Make at least 1 code."),
            "max_value": _("Make at most %(limit_value)s codes in one batch."),
        },
    )
    good_until = WallTimeField(label=_("Good until"), required=False)

    def __init__(self, *args: Any, knit_along: KnitAlong, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.knit_along, self.now = knit_along, now
        zone = _("In the zone of the knit-along, %(zone)s.") % {"zone": knit_along.zone}
        self.fields["good_until"].help_text = zone

    def clean_good_until(self) -> datetime | None:
        return instant_to_come(self.cleaned_data["good_until"], self.knit_along, self.now)


class BuyersForm(forms.Form):
    """A buyers' file to import."""

    file = forms.FileField(
        label=_("CSV file"),
        help_text=_(
            "From your shop, saved as “CSV UTF-8”: a column for the mail address, and if you like "
            "one for the name and one for the order."
        ),
        error_messages={
            "required": _("Choose the exported list, a CSV file."),
            "empty": _("The file is empty; choose the exported list."),
        },
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv"}),
    )

    file_name = ""

    def clean_file(self) -> BuyersFile:
        upload = self.cleaned_data["file"]
        self.file_name = str(upload.name)
        if upload.size > MOST_BYTES:
            raise ValidationError(
                _("The file has more than %(most)d MB; split it and import the parts.")
                % {"most": MOST_BYTES // 1_000_000}
            )
        try:
            return read_buyers_file(upload.read())
        except BadBuyersFile as error:
            raise ValidationError(str(error)) from None


class TransferForm(forms.Form):
    """A place to move from one address to another."""

    old = forms.EmailField(
        label=_("From the mail address"),
        max_length=254,
        error_messages={"required": _("Type the address that has the place now.")},
    )
    new = forms.EmailField(
        label=_("To the mail address"),
        max_length=254,
        error_messages={"required": _("Type the address that is to have it.")},
    )
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("For the log, which only organisers read."),
        error_messages={"required": _("Say why in a few words, for the log.")},
    )

    def clean_old(self) -> str:
        return str(self.cleaned_data["old"]).lower()

    def clean_new(self) -> str:
        return str(self.cleaned_data["new"]).lower()


class RemovalForm(forms.Form):
    """Why a membership ends."""

    removal = forms.ChoiceField(
        choices=[(Removal.SENT_AWAY, ""), (Removal.REFUNDED, "")], required=False
    )
    reason = forms.CharField(max_length=200, required=False)

    def clean_removal(self) -> Removal:
        return Removal(self.cleaned_data["removal"] or Removal.SENT_AWAY)
