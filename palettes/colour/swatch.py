"""What the colour core is told about a yarn, the fabric and the pattern's needs."""

import math
from dataclasses import dataclass

from palettes.colour.errors import BadFabric, BadQuantity, BadSwatch
from palettes.colour.spaces import Lab, check_lab

# Jumbo yarn knits at about 5 stitches to 10 cm and cobweb lace stays under 60; a garter row is
# half as tall as a stitch is wide. Common practice; the limits only catch slips of the keyboard.
MIN_GAUGE = 1.0
MAX_GAUGE = 200.0

Fibre = tuple[tuple[str, float], ...]

# What a dye style usually strays from its own mean, in CIEDE2000, for a yarn nobody has measured.
# Our choice, inside the ranges by which measure.py tells the styles apart in photos; a measured
# spread always takes its place.
TYPICAL_SPREAD = {
    "solid": 0.0,
    "semi-solid": 3.0,
    "tonal": 6.0,
    "speckled": 8.0,
    "variegated": 12.0,
}


@dataclass(frozen=True, slots=True)
class Swatch:
    """One yarn: its colour and what is known of the ball.

    `spread` is the mean CIEDE2000 of the yarn's own colours from its mean, at the scale of a
    stitch; 0 for a flat solid. `fibre` is (name, per cent) parts. Put-up is one ball's amount.
    Raises BadLab or BadSwatch when a value is impossible.
    """

    name: str
    lab: Lab
    spread: float = 0.0
    dye_style: str | None = None
    fibre: Fibre = ()
    care: str | None = None
    put_up_grams: float | None = None
    put_up_metres: float | None = None
    balls: float | None = None

    def __post_init__(self) -> None:
        check_lab(self.lab)
        if not (math.isfinite(self.spread) and 0 <= self.spread <= 100):
            raise BadSwatch(f"{self.name}: spread is {self.spread:g}; it must be 0 to 100.")
        for what, amount in (("grams", self.put_up_grams), ("metres", self.put_up_metres)):
            if amount is not None and not (math.isfinite(amount) and amount > 0):
                raise BadSwatch(f"{self.name}: {amount:g} {what} a ball; it must be more than 0.")
        if self.balls is not None and not (math.isfinite(self.balls) and self.balls >= 0):
            raise BadSwatch(f"{self.name}: {self.balls:g} balls; it must be 0 or more.")
        if any(not (0 < share <= 100) for _, share in self.fibre):
            raise BadSwatch(f"{self.name}: every fibre's share must be over 0 and up to 100 %.")

    @property
    def texture(self) -> float:
        """The yarn's spread as measured, or what its dye style usually has when it was not."""
        return self.spread or TYPICAL_SPREAD.get(self.dye_style or "", 0.0)


@dataclass(frozen=True, slots=True)
class Fabric:
    """A knitted fabric by its gauge, blocked; BadFabric when no knitting has it.

    The default is a fingering shawl in garter stitch: 22 stitches and 44 rows to 10 cm, a garter
    ridge being about as tall as a stitch is wide (common practice).
    """

    stitches_per_10cm: float = 22.0
    rows_per_10cm: float = 44.0

    def __post_init__(self) -> None:
        for what, gauge in (
            ("stitches", self.stitches_per_10cm),
            ("rows", self.rows_per_10cm),
        ):
            if not MIN_GAUGE <= gauge <= MAX_GAUGE:
                raise BadFabric(
                    f"{gauge:g} {what} to 10 cm is not a gauge; "
                    f"use {MIN_GAUGE:g} to {MAX_GAUGE:g}, such as {22 if what[0] == 's' else 44}."
                )

    @property
    def row_height_mm(self) -> float:
        """The height of one row in millimetres."""
        return 100 / self.rows_per_10cm

    @property
    def stitch_width_mm(self) -> float:
        """The width of one stitch in millimetres."""
        return 100 / self.stitches_per_10cm


@dataclass(frozen=True, slots=True)
class Need:
    """What is asked for of one colour letter; BadQuantity unless both amounts are above 0.

    `reserve` is the share that is asked for over what the pattern itself takes: 0.1 for a tenth.
    """

    letter: str
    grams: float
    metres: float
    reserve: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.reserve) and self.reserve >= 0):
            raise BadQuantity(
                f"Colour {self.letter} has a reserve of {self.reserve:g}; it must be 0 or more."
            )
        for what, amount in (("grams", self.grams), ("metres", self.metres)):
            if not (math.isfinite(amount) and amount > 0):
                raise BadQuantity(
                    f"Colour {self.letter} needs {amount:g} {what}; it must be more than 0."
                )
