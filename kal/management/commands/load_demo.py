"""`manage.py load_demo`: fill an empty demo site; a second run changes nothing."""

import json
from datetime import UTC, datetime
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.utils import timezone

from kal.demo.load import is_loaded, load_demo
from kal.demo.summary import in_words, summary
from kal.management.refusing import OneLineCommand, refuse


class Command(OneLineCommand):
    help = "Load the demo's people, palettes and clues, once. Only where KAL_DEMO=True."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print what is there as JSON")
        parser.add_argument(
            "--now", metavar="ISO", help="the moment the demo starts, such as 2027-03-20T18:00Z"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = read_moment(options["now"])
        if not settings.DEMO:
            raise refuse(
                "This site is no demo, so nothing was loaded; set KAL_DEMO=True, and a "
                "KAL_DATA_DIR of its own, for one that is."
            )
        is_new = not is_loaded()
        if is_new:
            load_demo(now)
        facts = summary(now) | {"is_new": is_new}
        self.stdout.write(json.dumps(facts, indent=2) if options["json"] else in_words(facts, now))


def read_moment(text: str | None) -> datetime:
    """Return the moment named, or the clock's own; UTC where no offset is written."""
    if text is None:
        return timezone.now()
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise refuse(f"--now is {text!r}; write a moment like 2027-03-20T18:00Z.") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
