"""What an app hands to the desk: panels of facts with things to do, and figures to look at.

A panel is read with every opening of the desk, so it takes a few queries whatever the crowd's
size. A figure may cost more: it is fetched after the page, or by its own address.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.functional import Promise

from kal.models import KnitAlong
from kal.plots import Drawing


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of a panel; `at` is an instant that its words lead up to."""

    label: str
    words: str
    path: str = ""
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Todo:
    """One thing to do in a sentence, where it is done, and by when: the earliest comes first."""

    due: datetime
    text: str
    path: str
    label: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One subject at a glance."""

    title: str
    facts: tuple[Fact, ...]
    todos: tuple[Todo, ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """A table with a sentence on what it says, and its drawing if there is one to look at.

    `rows` have a cell for each of `columns`; the first cell names the row.
    """

    summary: str
    columns: tuple[str, ...]
    rows: Sequence[tuple[object, ...]]
    drawing: Drawing | None = None


@dataclass(frozen=True, slots=True)
class FigureKind:
    """A figure the desk offers: its title is known before it is worked out."""

    title: str | Promise
    make: Callable[[KnitAlong, datetime], Figure]


type PanelMaker = Callable[[KnitAlong, datetime], Panel]
