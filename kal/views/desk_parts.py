"""The panels and figures of the desk, out of each app: the one place that knows them all."""

from typing import Final

from django.utils.translation import gettext_lazy as _

from kal.desk.parts import FigureKind, PanelMaker
from kal.desk.people import joined_by_day, people_panel
from palettes.desk import contrast_figure, families_figure, palettes_panel, verdict_figure
from schedule.desk.crowd import crowd_panel
from schedule.desk.mail import mail_figure, mail_panel
from schedule.desk.release import release_panel
from schedule.desk.yarn import hours_figure, yarn_figure

PANELS: Final[tuple[PanelMaker, ...]] = (
    release_panel,
    people_panel,
    palettes_panel,
    crowd_panel,
    mail_panel,
)

FIGURES: Final[dict[str, FigureKind]] = {
    "verdicts": FigureKind(_("Registered palettes, by their audit"), verdict_figure),
    "contrast": FigureKind(_("Registered palettes, by their worst pair"), contrast_figure),
    "yarn": FigureKind(_("Yarn that may run short, by letter"), yarn_figure),
    "hours": FigureKind(_("Hours a week"), hours_figure),
    "joined": FigureKind(_("Joined by day"), joined_by_day),
    "mail": FigureKind(_("Mail by clue"), mail_figure),
    "families": FigureKind(_("Colour families of the crowd"), families_figure),
}
