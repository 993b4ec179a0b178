from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, models, transaction
from django.db.models.functions import StrIndex
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kal.models import KnitAlong, Participant
from palettes.colour.facets import fold, starts_of
from palettes.models.registration import Registration, Run


class GalleryEntryQuerySet(models.QuerySet["GalleryEntry"]):
    def shown_in(self, knit_along: KnitAlong) -> GalleryEntryQuerySet:
        """Entries whose owners agree to show their palette, and have not left."""
        return self.filter(
            knit_along=knit_along,
            participant__shows_palette=True,
            participant__left_at=None,
        )

    def with_bits(self, field: str, bits: int, *, every: bool) -> GalleryEntryQuerySet:
        """Entries that have any of these bits in a field, or every one of them."""
        # Of a type that no number of bits is too large for.
        held = models.ExpressionWrapper(models.F(field).bitand(bits), models.BigIntegerField())
        entries = self.alias(held=held)
        # No more than those bits can be held. An equation would be put behind the words' texts.
        return entries.filter(held__gte=bits) if every else entries.filter(held__gt=0)

    def with_reach(self, least: float, below: float) -> GalleryEntryQuerySet:
        """Entries whose lightness reaches so far: L* from the darkest yarn to the lightest."""
        entries = self.alias(reach=models.F("lightest") - models.F("darkest"))
        return entries.filter(reach__gte=least, reach__lt=below)

    def with_words(self, text: str) -> GalleryEntryQuerySet:
        """Entries that have, for each word of the text, a word that begins so."""
        folded = fold([text])
        if not folded:
            return self
        # The bits rule most out by the index alone; only what is left is read.
        entries = self.with_bits("starts", starts_of(folded), every=True)
        for word in folded.split():
            entries = entries.filter(
                models.lookups.GreaterThan(StrIndex("words", models.Value(f" {word}")), 0)
            )
        return entries

    def walk(self, order: str, count: int) -> list[int]:
        """Return the registrations of the first so many entries in an order, by its index."""
        with in_index_order():
            return list(self.order_by(order).values_list("registration_id", flat=True)[:count])


@contextmanager
def in_index_order() -> Iterator[None]:
    """Let no question to the database be answered by sorting, or by several processes at once.

    PostgreSQL can only guess how many entries have some bits. Where it guesses few it finds them
    all and sorts them, and when they are many that takes it a hundred times as long as the walk.
    """
    if connection.vendor != "postgresql":
        yield
        return
    goes_on = connection.in_atomic_block
    with transaction.atomic(savepoint=False), connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config('enable_sort', 'off', true),"
            " set_config('max_parallel_workers_per_gather', '0', true)"
        )
        yield
        # The transaction's end undoes it, but one that was under way before goes on.
        if goes_on:
            cursor.execute("RESET enable_sort")
            cursor.execute("RESET max_parallel_workers_per_gather")


class GalleryEntry(models.Model):
    """A current registration in the gallery, with everything that it can be found by.

    All of it but the words is in one index, in the order of the pages, so a page is found without
    reading another row, whatever is asked: docs/gallery.md. Consent is not copied here but asked
    of the participant each time, so withdrawing it takes effect at once.
    """

    registration = models.OneToOneField(Registration, models.CASCADE, related_name="gallery_entry")
    # The index below begins with it; another of its own would only mislead a planner.
    knit_along = models.ForeignKey(KnitAlong, models.CASCADE, related_name="+", db_index=False)
    participant = models.ForeignKey(Participant, models.CASCADE, related_name="+")
    run = models.CharField(max_length=8, choices=Run)
    kit = models.ForeignKey(
        "palettes.Kit", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # The rest is as `colour.facets.Facets` has it.
    scheme = models.CharField(max_length=20, default="")
    worst_grade = models.PositiveSmallIntegerField(default=0)
    mean_grade = models.PositiveSmallIntegerField(default=0)
    darkest = models.FloatField(default=0)
    lightest = models.FloatField(default=0)
    families_some = models.PositiveSmallIntegerField(default=0)
    families_half = models.PositiveSmallIntegerField(default=0)
    families_all = models.PositiveSmallIntegerField(default=0)
    fibres = models.PositiveSmallIntegerField(default=0)
    dye_styles = models.PositiveSmallIntegerField(default=0)
    words = models.TextField(default="")
    starts = models.BigIntegerField(default=0)
    """Bits that the words' beginnings set, as `colour.facets.starts_of` has it."""

    objects = GalleryEntryQuerySet.as_manager()

    class Meta:
        ordering = ["-registration_id"]
        verbose_name_plural = _("gallery entries")
        indexes = [
            models.Index(
                fields=[
                    *("knit_along", "-registration", "participant", "run", "kit", "scheme"),
                    *("worst_grade", "mean_grade", "darkest", "lightest", "families_some"),
                    *("families_half", "families_all", "fibres", "dye_styles", "starts"),
                ],
                name="gallery_newest_first",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.registration_id} in the gallery, {self.run}"

    @property
    def owner_name(self) -> str:
        """The name the owner goes by; never any part of their mail address."""
        return self.participant.user.name.strip() or gettext("a knitter")

    @property
    def run_words(self) -> str:
        """How the palette runs, to follow a subject: 'runs light', 'is balanced'."""
        return gettext("is balanced") if self.run == Run.BALANCED else str(Run(self.run).label)
