"""What participants and moderators may send about progress, questions, answers and reports."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from palettes.photos import KINDS, MAX_BYTES, MEGABYTE, too_large
from schedule.errors import CoverTooLow
from schedule.models import Post
from schedule.models.contribution import LONGEST_REASON, LONGEST_WORDS
from schedule.models.post import LONGEST_ALT

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

FINISHED = "finished"
SAY_WHAT_IT_SHOWS = _("Say what the photo shows, for whoever cannot see it.")


def _words(rows: int, **attrs: str) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows, "spellcheck": "true", "dir": "auto", **attrs})


class WordsForm(forms.Form):
    """Plain text, with line ends as the site keeps them."""

    words = forms.CharField(max_length=LONGEST_WORDS, widget=_words(5))

    def clean_words(self) -> str:
        return str(self.cleaned_data["words"]).replace("\r\n", "\n")


class AboutForm(WordsForm):
    """Words about one of the clues that their author may read."""

    about = forms.ChoiceField(label=_("Clue"))

    def __init__(self, *args: Any, numbers: Sequence[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.clue_field.choices = [
            (str(number), _("Clue %(number)s") % {"number": number}) for number in numbers
        ]

    @property
    def clue_field(self) -> forms.ChoiceField:
        return cast(forms.ChoiceField, self.fields["about"])


class PostForm(AboutForm):
    """What any post says: which clue it shows, what is in its photo, and words."""

    alt = forms.CharField(
        label=_("What the photo shows"),
        required=False,
        max_length=LONGEST_ALT,
        help_text=_(
            "For whoever cannot see it, like “the blue wing, half done, on a wooden table”. "
            "Needed with a photo."
        ),
        # What static/js/post.js says while a photo is chosen and this is empty.
        widget=forms.TextInput(attrs={"data-needed": SAY_WHAT_IT_SHOWS}),
    )
    field_order = ["about", "photo", "alt", "words"]

    def __init__(self, *args: Any, may_finish: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.clue_field.label = _("It shows")
        self.clue_field.help_text = _(
            "The furthest clue that can be seen or read of in it. Whoever has not opened that "
            "clue finds a plain cover instead."
        )
        if may_finish:
            last = (FINISHED, _("The finished object"))
            self.clue_field.choices = [*self.clue_field.choices, last]  # type: ignore[misc]
        words = self.fields["words"]
        words.required, words.label = False, _("Words")


class NewPostForm(PostForm):
    photo = forms.FileField(
        label=_("Photo"),
        required=False,
        help_text=format_lazy(
            _(
                "{kinds}, up to {limit} MB. Where and when it was taken is removed before it is "
                "stored. Others who take part see it once they have opened the clue."
            ),
            kinds=KINDS,
            limit=MAX_BYTES // MEGABYTE,
        ),
        widget=forms.FileInput(
            attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,image/heif,image/avif"}
        ),
    )

    def clean_photo(self) -> bytes | None:
        upload = self.cleaned_data["photo"]
        if upload is None:
            return None
        if upload.size > MAX_BYTES:
            raise ValidationError(too_large(upload.size))
        return bytes(upload.read())

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or self.cleaned_data
        if self.errors:
            return sent
        if sent["photo"] and not sent["alt"]:
            self.add_error(
                "alt", _("Say what the photo shows, and choose the photo once more above.")
            )
        if not sent["photo"] and not sent["words"]:
            self.add_error("words", _("Add a photo, or say something."))
        return sent


class EditPostForm(PostForm):
    """What a post is to say from now on; its photo stays."""

    def __init__(self, *args: Any, post: Post, numbers: Sequence[int], **kwargs: Any) -> None:
        allowed = [number for number in numbers if number >= post.least_clue]
        initial = {
            "about": FINISHED if post.is_finished else str(post.clue.number),
            "words": post.words,
            "alt": post.alt,
        }
        super().__init__(*args, numbers=allowed, initial=initial, **kwargs)
        if post.photo:
            self._require("alt", SAY_WHAT_IT_SHOWS)
        else:
            del self.fields["alt"]
            self._require("words", _("Say something, or remove the post instead."))
        if len(allowed) < len(numbers):
            self.clue_field.help_text = str(CoverTooLow(post.least_clue))

    def _require(self, name: str, sentence: _StrPromise) -> None:
        self.fields[name].required = True
        self.fields[name].error_messages["required"] = sentence


class QuestionForm(AboutForm):
    field_order = ["about", "words"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].label = _("Your question")
        self.fields["words"].error_messages["required"] = _("Type what you would like to know.")
        self.fields["words"].help_text = _(
            "Whoever has opened the clue can read it. You get a mail when there is an answer."
        )


class AnswerForm(WordsForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].label = _("Your answer")
        self.fields["words"].error_messages["required"] = _("Type your answer first.")


class ReasonForm(forms.Form):
    """Why something is reported, hidden, or somebody blocked."""

    reason = forms.CharField(
        label=_("What is wrong with it"), max_length=LONGEST_REASON, widget=_words(3)
    )

    def labelled(self, label: str) -> ReasonForm:
        self.fields["reason"].label = label
        return self
