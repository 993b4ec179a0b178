"""The organiser writes her clues, and those whose instant has passed have gone out."""

from datetime import datetime, timedelta
from decimal import Decimal
from io import BytesIO

from django.db.models import F

from kal.demo.chart import chart_in_words, chart_png
from kal.demo.events import Event
from kal.demo.pattern import Pattern
from kal.demo.pdf import page_pdf
from kal.demo.texts import clue_text, opening_and_sections, without_marks
from kal.models import KnitAlong, User
from schedule.actions import propose_clues
from schedule.actions.plan import mark_ready
from schedule.actions.write import save_clue, store_attachment
from schedule.drafts import Draft, MeetingDraft
from schedule.files import check_file
from schedule.models import Attachment, Clue, Notice
from schedule.notices.ledger import announce_clue

WRITTEN_BEFORE = timedelta(days=10)  # of the first clue; the host wrote them all in one week
MAIL_TAKES = timedelta(seconds=40)


def write_clues(event: Event, knit_along: KnitAlong, host: User, *, now: datetime) -> None:
    """Propose the schedule, write the clues that are written, and let the past ones have gone."""
    clues = propose_clues(knit_along)
    if event.pattern is None:
        return
    at = event.cast_on - WRITTEN_BEFORE
    for clue in clues[: event.written]:
        write(clue, event.text_name, event.pattern, host, at)
        mark_ready(clue, ready=True, by=host, now=at)
        if clue.release_at <= now:
            let_it_have_gone_out(clue)


def write(clue: Clue, text_name: str, pattern: Pattern, host: User, at: datetime) -> None:
    section = pattern.sections[clue.number - 1]
    whole = clue_text(text_name, pattern, clue.number)
    opening, sections = opening_and_sections(text_name, pattern, clue.number)
    files = attach(clue, section.title, whole, pattern, host, at)
    grams = pattern.grams(clue.number)
    draft = Draft(
        title=section.title,
        title_is_secret=True,
        body=opening,
        sections=sections,
        uses={letter: Decimal(str(weight)) for letter, weight in grams.items()},
        attachments=frozenset(file.pk for file in files),
        meetings=tuple(
            MeetingDraft(pair[0], pair[1], technique=technique, needs=needs)
            for pair, (technique, needs) in pattern.meetings(clue.number).items()
        ),
    )
    save_clue(clue, draft, began_from=0, by=host, now=at)


def attach(
    clue: Clue, title: str, body: str, pattern: Pattern, host: User, at: datetime
) -> list[Attachment]:
    """Store the clue's sheet as a PDF and its chart as a picture."""
    section = pattern.sections[clue.number - 1]
    sheet = page_pdf(f"Clue {clue.number}: {title}", without_marks(body))
    uploads = (
        (f"Clue {clue.number} to print.pdf", sheet, "The whole clue on one page"),
        (f"Clue {clue.number} chart.png", chart_png(section), chart_in_words(section)),
    )
    return [
        store_attachment(
            clue, check_file(BytesIO(content), name, len(content)), alt=alt, by=host, now=at
        )
        for name, content, alt in uploads
    ]


def let_it_have_gone_out(clue: Clue) -> None:
    """Write the notices of a clue that is long out, as sent: nobody is mailed today."""
    announce_clue(clue, now=clue.release_at)
    Notice.objects.filter(clue=clue).update(
        sent_at=clue.release_at + MAIL_TAKES, attempts=F("attempts") + 1
    )
