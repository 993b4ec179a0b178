"""One thing an audit has to say: a stable code, how much it matters, numbers and yarns."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

Numbers = Mapping[str, float | str]


class Severity(StrEnum):
    """How much a finding matters, worst first."""

    PROBLEM = "problem"
    CAUTION = "caution"
    NOTE = "note"
    GOOD = "good"


SEVERITIES = tuple(Severity)


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. Its words are in `wording.py`, under its code.

    `yarns` are positions in the palette; a position past its end counts on into the spares.
    """

    code: str
    severity: Severity
    numbers: Numbers = field(default_factory=dict)
    yarns: tuple[int, ...] = ()
