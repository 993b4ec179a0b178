"""The pages of the desk in groups, as its navigation shows them: the one home of their order."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

type Label = str | Promise


@dataclass(frozen=True, slots=True)
class DeskPage:
    """One page: `section` is what its view calls itself, `route` a name of the URL conf."""

    section: str
    route: str
    label: Label


@dataclass(frozen=True, slots=True)
class DeskGroup:
    """Pages of one subject; its own link leads to the first of them."""

    label: Label
    pages: tuple[DeskPage, ...]

    def holds(self, section: str) -> bool:
        return any(page.section == section for page in self.pages)


GROUPS = (
    DeskGroup(_("Overview"), (DeskPage("desk", "kal:desk", _("Overview")),)),
    DeskGroup(
        _("Pattern"),
        (
            DeskPage("clues", "schedule:desk_clues", _("Clues")),
            DeskPage("glossary", "schedule:glossary", _("Glossary")),
            DeskPage("letters", "schedule:letter_plan", _("Letter plan")),
            DeskPage("dry-run", "schedule:dry_run", _("Dry run")),
        ),
    ),
    DeskGroup(
        _("Yarn & pace"),
        (
            DeskPage("yarn", "schedule:desk_yarn", _("Yarn")),
            DeskPage("counts", "schedule:desk_counts", _("Stitches")),
            DeskPage("pace", "schedule:desk_pace", _("Hours a week")),
        ),
    ),
    DeskGroup(
        _("People"),
        (
            DeskPage("people", "kal:people", _("People")),
            DeskPage("codes", "kal:codes", _("Join codes")),
            DeskPage("list", "kal:join_list", _("Join list")),
            DeskPage("kits", "palettes:desk_kits", _("Kits")),
        ),
    ),
    DeskGroup(
        _("Crowd"),
        (
            DeskPage("notices", "schedule:notices", _("Mail")),
            DeskPage("questions", "schedule:desk_questions", _("Questions")),
            DeskPage("reports", "schedule:moderation", _("Reports")),
        ),
    ),
    DeskGroup(
        _("Settings"),
        (
            DeskPage("edit", "kal:edit", _("Edit")),
            DeskPage("keeping", "kal:keeping", _("Keeping")),
            DeskPage("log", "kal:audit_log", _("Log")),
        ),
    ),
)
