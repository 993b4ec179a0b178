from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from kal.models import Participant
from schedule.models.clue import Clue
from schedule.models.contribution import LONGEST_WORDS, Contribution

LONGEST_ALT = 300
PHOTO_FOLDER = "posts"
# CSS pixels. Our choice: a column on a phone, and twice one for a sharp screen.
PHOTO_WIDTHS = (480, 1000)
# The smallest kind of file first; every browser reads the last.
PHOTO_FORMS = ("avif", "webp", "jpeg")
# What each copy of a photo is called, "480.webp" for the width it was made for, and its type.
COPIES = {f"{width}.{form}": f"image/{form}" for width in PHOTO_WIDTHS for form in PHOTO_FORMS}


def path_of(folder: str, copy: str) -> str:
    """Return where one copy of a photo is stored; `folder` is the `photo` of its post."""
    return f"{PHOTO_FOLDER}/{folder}/{copy}"


class Post(Contribution):
    """How far a participant has come: words, a photo or both, tagged with the clue they show.

    `photo` names the folder of the photo's copies, empty for none. A post of a finished object is
    tagged with the last clue.
    """

    author = models.ForeignKey(Participant, models.CASCADE, related_name="posts")
    clue = models.ForeignKey(Clue, models.CASCADE, related_name="posts")
    is_finished = models.BooleanField(_("finished object"), default=False)
    photo = models.CharField(max_length=32, blank=True)
    width = models.PositiveIntegerField(null=True, blank=True, help_text="Of the photo, in pixels.")
    height = models.PositiveIntegerField(null=True, blank=True)
    alt = models.CharField(_("what the photo shows"), max_length=LONGEST_ALT, blank=True)
    edited_at = models.DateTimeField(null=True, blank=True)
    # The clue that a moderator last moved it to: its author may not say of it that it shows less.
    moved_to = models.ForeignKey(
        Clue, models.SET_NULL, null=True, blank=True, related_name="+", editable=False
    )

    is_open: bool  # only where `schedule.covers` read it: whether its viewer needs no cover

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["clue", "-at"], name="posts_of_clue_newest_first"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=~Q(photo="", words=""),
                name="post_has_words_or_photo",
                violation_error_message=_("Add a photo, or say something."),
            ),
            models.CheckConstraint(
                condition=Q(photo="") | (~Q(alt="") & Q(width__gt=0, height__gt=0)),
                name="post_photo_is_described",
                violation_error_message=_("Say what the photo shows, for whoever cannot see it."),
            ),
        ]

    def __str__(self) -> str:
        return f"post {self.pk} about {self.clue}"

    @property
    def least_clue(self) -> int:
        """The number of the lowest clue that its author may say it shows."""
        return self.moved_to.number if self.moved_to else 0

    def stored_files(self) -> list[str]:
        """Return the paths of the copies of its photo."""
        return [path_of(self.photo, copy) for copy in COPIES] if self.photo else []


class EarlierWords(models.Model):
    """What a post said before it was edited, and the clue it was tagged with then.

    For those who moderate; it goes with its post.
    """

    post = models.ForeignKey(Post, models.CASCADE, related_name="earlier_words")
    clue = models.ForeignKey(Clue, models.CASCADE, related_name="+")
    words = models.CharField(max_length=LONGEST_WORDS, blank=True)
    alt = models.CharField(_("what the photo shows"), max_length=LONGEST_ALT, blank=True)
    at = models.DateTimeField(help_text="Since when it said so.")

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = _("earlier words")

    def __str__(self) -> str:
        return f"what {self.post} said from {self.at:%Y-%m-%d %H:%M} UTC"
