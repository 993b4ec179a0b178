"""How the registered palettes of a knit-along come out, counted and kept until one changes."""

from collections import Counter
from dataclasses import dataclass

from django.core.cache import cache
from django.db.models import Count, QuerySet, Sum

from kal.models import KnitAlong
from palettes.audits import fabric_of
from palettes.colour.audit import MIN_YARNS, Verdict
from palettes.colour.contrast import GRADES, Grade
from palettes.colour.survey import survey
from palettes.colour.verdicts import VERDICTS, has_few_greys, lacks_an_end, lacks_calm, verdicts
from palettes.crowd_rows import read_crowd
from palettes.models import Registration

KEPT = 24 * 60 * 60  # seconds; a changed crowd has another key, so this only tidies up


@dataclass(frozen=True, slots=True)
class CrowdAudit:
    """Palettes counted by verdict, by the grade of their worst pair, and by what is the matter."""

    verdicts: dict[Verdict, int]
    grades: dict[Grade, int]
    lack_an_end: int
    few_greys: int
    lack_calm: int

    @property
    def palettes(self) -> int:
        return sum(self.verdicts.values())


def current_registrations(knit_along: KnitAlong) -> QuerySet[Registration]:
    """Return the registrations that count: the newest of everybody who takes part."""
    return Registration.objects.filter(
        knit_along=knit_along, is_current=True, palette__participant__left_at=None
    )


def audit_crowd(knit_along: KnitAlong) -> CrowdAudit:
    """Return the counts, from the cache while nobody has registered anew, left or come back."""
    state = current_registrations(knit_along).aggregate(count=Count("pk"), sum=Sum("pk"))
    fabric = f"{knit_along.gauge_stitches}-{knit_along.gauge_rows}"
    key = f"crowd-audit-{knit_along.pk}-{state['count']}-{state['sum']}-{fabric}"
    found: CrowdAudit | None = cache.get(key)
    if found is None:
        found = _audit(knit_along)
        cache.set(key, found, KEPT)
    return found


def _audit(knit_along: KnitAlong) -> CrowdAudit:
    fabric = fabric_of(knit_along)
    judged: Counter[Verdict] = Counter()
    graded: Counter[Grade] = Counter()
    lacking = few = busy = 0
    for rows in read_crowd(knit_along):
        if rows.yarns < MIN_YARNS:
            continue
        found = survey(rows.labs, rows.textures, fabric)
        judged.update(VERDICTS[place] for place in verdicts(found, rows.textures).tolist())
        graded.update(GRADES[place] for place in found.worst_grades.tolist())
        lacking += int(lacks_an_end(found, rows.yarns).sum())
        few += int(has_few_greys(found, rows.yarns).sum())
        busy += int(lacks_calm(rows.textures).sum())
    return CrowdAudit(
        {verdict: judged[verdict] for verdict in VERDICTS},
        {grade: graded[grade] for grade in GRADES},
        lacking,
        few,
        busy,
    )
