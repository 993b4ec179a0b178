"""Invented photos of several yarns whose places are known: wrap cards, balls and skeins.

Each yarn is drawn strand by strand: every strand is round and plied, and the dye runs along the
yarn, so that a variegated yarn changes from strand to strand as wound yarn does. Things lie on a
table, throw a soft shadow, and are taken by a camera with vignetting, blur and sensor noise. Sizes
and amounts are our choice, set by eye. The same seed always gives the same scene.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from palettes.colour.difference import delta_e_2000, delta_e_2000_matrix
from palettes.colour.spaces import Floats, Lab, lab_to_linear, linear_to_srgb, srgb_to_linear

ROWS, COLUMNS = 900, 1200
NOBODY = -1
STYLES = ("solid", "semi-solid", "tonal", "speckled", "variegated")
GROUNDS = {
    "paper": (93.0, 0.0, 1.0),
    "grey card": (50.0, 0.0, 0.0),
    "wood": (60.0, 11.0, 24.0),
    "pale table": (85.0, 2.0, 8.0),
    "dark table": (24.0, 2.0, 3.0),
}
# CIEDE2000. Yarns of one palette are told apart at a glance; a pale yarn hardly from its table.
APART, ALIKE = 11.0, 2.5
NEAR_TABLE = (4.5, 8.0)
FROM_TABLE = 12.0
# Radians: 15 to 35 degrees. What lies so takes up more room and is made smaller.
ASLANT = (0.26, 0.61)
ASLANT_SIZE = 0.75

Owners = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Kind:
    """What is photographed, on what, and what makes it hard."""

    things: str
    ground: str
    fewest: int = 3
    most: int = 8
    is_touching: bool = False
    has_pale: bool = False
    has_alike: bool = False
    has_paper: bool = False
    is_aslant: bool = False
    blur: float = 0.7
    styles: tuple[str, ...] = STYLES


# Tuned on, with even seeds; the kinds held out are other pairings, asked with odd seeds alone.
KINDS = {
    "balls on paper": Kind("balls", "paper"),
    "balls on wood": Kind("balls", "wood"),
    "skeins on a pale table, one as pale": Kind("skeins", "pale table", has_pale=True),
    "skeins on grey card, touching": Kind("skeins", "grey card", is_touching=True),
    "wraps on a card on a dark table": Kind("card", "dark table", 5, 10),
    "wraps on a card on wood, touching": Kind("card", "wood", 5, 10, is_touching=True),
    "balls on a pale table, two alike": Kind("balls", "pale table", has_alike=True),
    "speckled and variegated skeins": Kind(
        "skeins", "pale table", styles=("speckled", "variegated")
    ),
    "skeins on wood, touching, aslant": Kind("skeins", "wood", is_touching=True, is_aslant=True),
    "wraps that fill the photo": Kind("wraps", "paper", 3, 10, is_touching=True),
}
HELD_OUT_KINDS = {
    "balls on a dark table, white paper by": Kind("balls", "dark table", has_paper=True),
    "skeins on wood, two alike": Kind("skeins", "wood", has_alike=True),
    "wraps on a card on a pale table, one as pale": Kind(
        "card", "pale table", 5, 10, is_touching=True, has_pale=True
    ),
    "balls on a pale table, one as pale, soft focus": Kind(
        "balls", "pale table", has_pale=True, blur=3.0
    ),
    "skeins on paper, touching, speckled": Kind(
        "skeins", "paper", is_touching=True, styles=("solid", "speckled", "variegated")
    ),
    "many balls on grey card": Kind("balls", "grey card", 8, 10),
    "wraps on a card on grey card, touching, aslant": Kind(
        "card", "grey card", 4, 8, is_touching=True, is_aslant=True
    ),
}


@dataclass(frozen=True, slots=True)
class Scene:
    """A linear-light photo as an 8-bit file holds it, and whose each of its pixels is."""

    photo: Floats
    owners: Owners
    """The number of the yarn, from 0, or NOBODY."""

    @property
    def count(self) -> int:
        return int(self.owners.max()) + 1

    def colour(self, yarn: int) -> Floats:
        """Return the mean, in linear light, of a yarn but for its rim, which is in shade."""
        own = self.owners == yarn
        depth = ndimage.distance_transform_edt(own)
        return np.asarray(self.photo[depth > 0.3 * depth.max()].mean(axis=0))


@dataclass(slots=True)
class Canvas:
    """A scene being put together: reflectances, whose each pixel is, and how high things stand."""

    rng: np.random.Generator
    light: Floats
    owners: Owners
    turn: float = 0.0
    """The angle at which everything lies, about the middle of the photo."""
    covered: Floats = field(default_factory=lambda: np.zeros((ROWS, COLUMNS)))


def draw_scene(kind: Kind, seed: int) -> Scene:
    """Return the scene of this kind that the seed stands for."""
    rng = np.random.default_rng([seed, *kind.things.encode(), *kind.ground.encode()])
    canvas = Canvas(rng, _ground(kind.ground, rng), np.full((ROWS, COLUMNS), NOBODY))
    labs = choose_colours(kind, int(rng.integers(kind.fewest, kind.most + 1)), rng)
    styles = [str(rng.choice(kind.styles)) for _ in labs]
    if kind.is_aslant:
        canvas.turn = float(rng.choice((-1, 1)) * rng.uniform(*ASLANT))
    if kind.has_paper:
        _lay_paper(canvas)
    if kind.things == "wraps":
        _lay_wraps(canvas, labs, styles)
    elif kind.things == "card":
        _lay_card(canvas, labs, styles, is_touching=kind.is_touching)
    else:
        _lay_rows(canvas, kind, labs, styles)
    return Scene(_photograph(canvas, kind.blur), canvas.owners)


def choose_colours(kind: Kind, count: int, rng: np.random.Generator) -> list[Lab]:
    """Return so many colours apart from each other and the table, but for those asked alike."""
    ground = Lab(*GROUNDS[kind.ground])
    chosen: list[Lab] = []
    if kind.has_pale:
        chosen.append(_pale_colour(ground, rng))
    while len(chosen) < count - kind.has_alike:
        lab = Lab(rng.uniform(18, 86), *(rng.uniform(-45, 45, 2)))
        linear = lab_to_linear(lab)
        others = [*chosen, *([ground] if kind.things != "card" else [Lab(92, 0, 2)])]
        limits = [APART] * len(chosen) + [FROM_TABLE]
        if (
            linear.min() > 0.004
            and linear.max() < 0.85
            and (delta_e_2000_matrix([lab], others)[0] > limits).all()
        ):
            chosen.append(lab)
    rng.shuffle(chosen)
    chosen = [Lab(*map(float, lab)) for lab in chosen]
    if kind.has_alike:
        # The last place is far from the first.
        first = chosen[0]
        chosen.append(Lab(first.l + rng.uniform(-ALIKE, ALIKE), first.a, first.b))
    return chosen


def _pale_colour(ground: Lab, rng: np.random.Generator) -> Lab:
    while True:
        lab = Lab(ground.l + rng.uniform(-5, 3), ground.a + rng.uniform(2, 9), ground.b - 3)
        if NEAR_TABLE[0] < delta_e_2000(lab, ground) < NEAR_TABLE[1]:
            return lab


def _ground(name: str, rng: np.random.Generator) -> Floats:
    labs = np.broadcast_to(np.array(GROUNDS[name]), (ROWS, COLUMNS, 3)).copy()
    if name == "wood":
        labs[..., 0] += _wood_grain(rng)
    else:
        labs[..., 0] += 0.4 * _slow(rng, 3)
    return lab_to_linear(labs)


def _wood_grain(rng: np.random.Generator) -> Floats:
    """Return L* of grain along the rows: broad rings, fine streaks, and planks."""
    y = np.arange(ROWS)[:, np.newaxis] + 25 * _slow(rng, 200)
    rings = ndimage.gaussian_filter1d(rng.standard_normal(2 * ROWS), 9)
    rings /= rings.std()
    coarse = rings[np.clip(y + ROWS // 2, 0, 2 * ROWS - 1).astype(int)]
    fine = ndimage.gaussian_filter(rng.standard_normal((ROWS, COLUMNS)), (0.8, 40))
    return np.asarray(2.2 * coarse + 1.4 * fine / fine.std())


def _slow(rng: np.random.Generator, sigma: float) -> Floats:
    """Return smooth noise of mean 0 and deviation 1, `sigma` pixels wide."""
    step = max(1, int(sigma / 4))
    shape = (-(-ROWS // step) + 2, -(-COLUMNS // step) + 2)
    small = ndimage.gaussian_filter(rng.standard_normal(shape), sigma / step)
    wide = np.kron(small, np.ones((step, step))) if step > 1 else small
    noise = ndimage.uniform_filter(wide, step)[:ROWS, :COLUMNS] if step > 1 else wide
    noise = noise[:ROWS, :COLUMNS]
    return np.asarray((noise - noise.mean()) / noise.std())


def _lay_paper(canvas: Canvas) -> None:
    canvas.light[60:840, 1090:1180] = lab_to_linear((95, 0, 0))


def _lay_card(canvas: Canvas, labs: list[Lab], styles: list[str], *, is_touching: bool) -> None:
    """Lay a white card with bands of yarn wound around it, one below or beside another."""
    rng, upright = canvas.rng, canvas.rng.random() < 0.5
    length, breadth = (760, 380) if upright else (1040, 420)
    bands = rng.uniform(0.8, 1.25, len(labs))
    gap = 0.0 if is_touching else float(rng.uniform(0.12, 0.3))
    middle = np.array((ROWS, COLUMNS)) / 2 + rng.uniform(-20, 20, 2)
    axes = _turned(canvas, middle, np.pi / 2 * (not upright) + rng.uniform(-0.04, 0.04))
    _put(canvas, (abs(axes[0]) < length / 2) & (abs(axes[1]) < breadth / 2), (92, 0, 2))
    _lay_bands(canvas, labs, styles, axes, (0.92 * length, breadth + 12), bands, gap)


def _lay_wraps(canvas: Canvas, labs: list[Lab], styles: list[str]) -> None:
    """Lay bands of yarn that reach over every edge of the photo."""
    middle = np.array((ROWS, COLUMNS)) / 2
    axes = _turned(canvas, middle, np.pi / 2 + canvas.rng.uniform(-0.04, 0.04))
    bands = canvas.rng.uniform(0.8, 1.25, len(labs))
    _lay_bands(canvas, labs, styles, axes, (1.08 * COLUMNS, 2.0 * ROWS), bands, 0.0)


def _lay_bands(
    canvas: Canvas,
    labs: list[Lab],
    styles: list[str],
    axes: tuple[Floats, Floats],
    size: tuple[float, float],
    bands: Floats,
    gap: float,
) -> None:
    """Lay bands as wide as `bands` says, one after another along the first of the axes."""
    rng, (along, across), (length, breadth) = canvas.rng, axes, size
    unit = length / (bands.sum() + gap * (len(labs) - 1))
    start = -length / 2
    for yarn, (lab, style, band) in enumerate(zip(labs, styles, bands, strict=True)):
        wobble = 2.5 * _slow(rng, 30)
        inside = (along + wobble > start) & (along + wobble < start + band * unit)
        mask = inside & (abs(across) < breadth / 2)
        _put_yarn(canvas, yarn, mask, across, along, lab, style, pitch=float(rng.uniform(5, 9)))
        start += (band + gap) * unit


def _lay_rows(canvas: Canvas, kind: Kind, labs: list[Lab], styles: list[str]) -> None:
    """Lay balls or skeins in one or two rows."""
    rng, is_skeins = canvas.rng, kind.things == "skeins"
    rows = 1 if len(labs) <= (5 if is_skeins else 3) else 2
    columns = -(-len(labs) // rows)
    width = 1060 if kind.has_paper else COLUMNS
    cell = np.array((ROWS / rows, width / columns))
    for yarn, (lab, style) in enumerate(zip(labs, styles, strict=True)):
        row, column = divmod(yarn, columns)
        near = 0.02 if kind.is_touching else 0.06
        middle = cell * (row + 0.5, column + 0.5) + cell * rng.uniform(-near, near, 2)
        if is_skeins:
            room = 1.04 if kind.is_touching else rng.uniform(0.66, 0.8)
            half = np.array((cell[0] * rng.uniform(0.36, 0.42), min(cell[1] * room / 2, 150)))
            if kind.is_touching:
                middle[1] = width / 2 + (column - (columns - 1) / 2) * 1.94 * half[1]
            _lay_skein(canvas, yarn, middle, half, lab, style)
        else:
            _lay_ball(canvas, yarn, middle, cell.min() * rng.uniform(0.33, 0.42), lab, style)


def _lay_skein(
    canvas: Canvas, yarn: int, middle: Floats, half: Floats, lab: Lab, style: str
) -> None:
    rng = canvas.rng
    y, x = _turned(canvas, middle, rng.uniform(-0.05, 0.05))
    bulge = half[1] * (1 - 0.12 * (y / half[0]) ** 2) + 2 * _slow(rng, 40)
    corner = np.clip((abs(y) - half[0] + half[1] * 0.5) / (half[1] * 0.5), 0, 1)
    mask = (abs(y) < half[0]) & (abs(x) < bulge * np.sqrt(1 - 0.6 * corner**2))
    # Two bundles twisted together: the strands run slanting, and a crease lies between turns.
    slant = 0.55 if rng.random() < 0.5 else -0.55
    along, across = y + slant * x, x - slant * y
    turns = 0.5 + 0.5 * np.cos(2 * np.pi * (y + 0.9 * np.sign(slant) * x) / (half[1] * 1.7))
    shade = (0.8 + 0.2 * np.sqrt(turns)) * (1 - 0.3 * np.clip(abs(x) / half[1], 0, 1) ** 3)
    pitch = float(rng.uniform(5, 11))
    _put_yarn(canvas, yarn, mask, along, across, lab, style, pitch=pitch, shade=shade)


def _lay_ball(
    canvas: Canvas, yarn: int, middle: Floats, radius: float, lab: Lab, style: str
) -> None:
    rng = canvas.rng
    y, x = _turned(canvas, middle, rng.uniform(0, np.pi))
    y = y * rng.uniform(1, 1.15)
    out = np.hypot(y, x) / radius
    # Layers wound over each other at other angles, the last of them on top.
    along, across = y, x + 0.25 * y**2 / radius
    for _ in range(int(rng.integers(2, 5))):
        angle, bend = rng.uniform(0, np.pi), rng.uniform(-0.3, 0.3)
        u, v = y * np.cos(angle) + x * np.sin(angle), x * np.cos(angle) - y * np.sin(angle)
        v = v + bend * u**2 / radius
        on_top = abs(v - rng.uniform(-0.4, 0.4) * radius) < rng.uniform(0.3, 0.5) * radius
        along, across = np.where(on_top, u, along), np.where(on_top, v + 7e4 * angle, across)
    shade = 0.62 + 0.38 * np.sqrt(np.clip(1 - 0.9 * out**2, 0, 1))
    pitch = float(rng.uniform(6, 12))
    _put_yarn(canvas, yarn, out < 1, along, across, lab, style, pitch=pitch, shade=shade)


def _turned(canvas: Canvas, middle: Floats, angle: float) -> tuple[Floats, Floats]:
    """Return each pixel's place down and across from `middle`, in axes turned by `angle`.

    All of it lies at the turn of the canvas: so does `middle`, and the axes turn with it.
    """
    y, x = np.mgrid[:ROWS, :COLUMNS] - np.array((ROWS / 2, COLUMNS / 2))[:, np.newaxis, np.newaxis]
    if canvas.turn:
        cosine, sine = np.cos(canvas.turn) / ASLANT_SIZE, np.sin(canvas.turn) / ASLANT_SIZE
        y, x = y * cosine - x * sine, y * sine + x * cosine
    y, x = y - (middle[0] - ROWS / 2), x - (middle[1] - COLUMNS / 2)
    return y * np.cos(angle) - x * np.sin(angle), y * np.sin(angle) + x * np.cos(angle)


def _put(canvas: Canvas, mask: NDArray[np.bool_], lab: tuple[float, float, float]) -> None:
    canvas.light[mask] = lab_to_linear(lab)
    canvas.covered[mask] = np.maximum(canvas.covered[mask], 0.15)


def _put_yarn(
    canvas: Canvas,
    yarn: int,
    mask: NDArray[np.bool_],
    along: Floats,
    across: Floats,
    lab: Lab,
    style: str,
    *,
    pitch: float,
    shade: Floats | float = 1.0,
) -> None:
    """Cover `mask` with strands of `pitch` pixels that run along `along`."""
    at = np.broadcast_to(shade, mask.shape)[mask]
    strand, within = np.divmod(across[mask] / pitch, 1.0)
    place = along[mask] + 7.3 * np.sin(strand * 1.7)
    light = _dyed(canvas.rng, strand, place, lab, style, pitch)
    # A strand is round: a ridge of light, dark furrows beside it, and plies that slant over it.
    ridge = 0.62 + 0.38 * np.sqrt(np.clip(1 - (2 * within - 1) ** 2 * 0.95, 0, 1))
    plies = 1 + 0.07 * np.sin(2 * np.pi * (place / (1.6 * pitch) + within))
    canvas.light[mask] = light * (1.12 * ridge * plies * at)[:, np.newaxis]
    canvas.owners[mask] = yarn
    canvas.covered[mask] = 1.0


def _dyed(
    rng: np.random.Generator, strand: Floats, place: Floats, lab: Lab, style: str, pitch: float
) -> Floats:
    """Return the linear-light colour of the yarn at these places of these strands."""
    # One long row of dye, of which each strand shows a stretch of its own.
    size = 1 << 14
    numbers = np.unique(strand, return_inverse=True)[1]
    starts = rng.integers(0, size, numbers.max() + 1)
    cells = (starts[numbers] + place.astype(int)) % size
    labs = np.broadcast_to(np.array(lab), (size, 3)).copy()
    if style in {"semi-solid", "tonal"}:
        amount = 2.5 if style == "semi-solid" else 6.0
        labs[:, 0] += amount * _dye_noise(rng, size, rng.uniform(20, 60))
    if style == "speckled":
        labs = _speckled(rng, labs, pitch)
    if style == "variegated":
        labs = _variegated(rng, labs)
    labs[:, 0] = np.clip(labs[:, 0], 5, 96)
    return np.asarray(np.clip(lab_to_linear(labs), 0.002, 1)[cells])


def _dye_noise(rng: np.random.Generator, size: int, width: float) -> Floats:
    noise = ndimage.gaussian_filter1d(rng.standard_normal(size), width, mode="wrap")
    return np.asarray(np.clip(noise / noise.std(), -2, 2))


def _speckled(rng: np.random.Generator, labs: Floats, pitch: float) -> Floats:
    share, length = rng.uniform(0.05, 0.2), pitch * rng.uniform(1, 2.5)
    colours = [(rng.uniform(20, 45), *rng.uniform(-50, 50, 2)) for _ in range(2)]
    for colour in colours:
        starts = rng.random(len(labs)) < share / 2 / length
        spots = ndimage.maximum_filter1d(starts, int(length), mode="wrap")
        labs[spots] = 0.25 * labs[spots] + 0.75 * np.array(colour)
    return labs


def _variegated(rng: np.random.Generator, labs: Floats) -> Floats:
    stretch, number = rng.uniform(40, 130), int(rng.integers(2, 5))
    shifts = rng.uniform((-14, -24, -24), (14, 24, 24), (number, 3))
    shifts[0] = 0
    bounds = np.cumsum(rng.uniform(0.5, 1.5, 4 * int(len(labs) / stretch)) * stretch)
    which = np.searchsorted(bounds, np.arange(len(labs))) % number
    soft = ndimage.gaussian_filter1d(shifts[which], 5, axis=0, mode="wrap")
    return np.asarray(labs + soft)


def _photograph(canvas: Canvas, blur: float) -> Floats:
    """Return the canvas lit from one side, in shadow beside things, as an 8-bit camera sees it."""
    rng = canvas.rng
    y, x = np.mgrid[-1 : 1 : ROWS * 1j, -1 : 1 : COLUMNS * 1j]
    slope = rng.uniform(-0.07, 0.07, 2)
    falloff = 1 - rng.uniform(0.04, 0.16) * (x**2 + y**2) / 2
    lamp = (1 + slope[0] * x + slope[1] * y) * falloff * rng.uniform(0.75, 0.95)
    light = canvas.light * (lamp * _shadow(canvas))[..., np.newaxis]
    light = ndimage.gaussian_filter(light, (blur, blur, 0))
    # Photons and the sensor's own noise; what a phone leaves of it at 1200 pixels.
    noise = rng.standard_normal(light.shape) * np.sqrt(2e-4 * light + 4e-6)
    levels = np.rint(linear_to_srgb(np.clip(light + noise, 0, 1)) * 255)
    return np.asarray(srgb_to_linear(levels / 255))


def _shadow(canvas: Canvas) -> Floats:
    """Return the share of light that is left: less on the table beside what stands on it."""
    rng = canvas.rng
    angle, far = rng.uniform(0, 2 * np.pi), rng.uniform(8, 22)
    shift = (far * np.sin(angle), far * np.cos(angle))
    cast = ndimage.gaussian_filter(ndimage.shift(canvas.covered, shift, order=0), far * 0.8)
    on_table = 1 - np.clip(canvas.covered, 0, 1)
    return np.asarray(1 - rng.uniform(0.2, 0.45) * cast * on_table)
