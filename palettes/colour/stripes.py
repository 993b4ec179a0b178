"""What the eye makes of two yarns worked in stripes, for one palette or for many at once."""

from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from palettes.colour.difference import delta_e_2000_planes
from palettes.colour.fabric import blend, texture_left
from palettes.colour.planes import lab_to_light, light_to_lab
from palettes.colour.spaces import AnyFloats, Floats
from palettes.colour.swatch import Fabric, Swatch

_TINY = 1e-30


class Seen(NamedTuple):
    """Every pair of each palette as CIEDE2000, pairs in the order of `pair_indices`."""

    plain: AnyFloats
    """The difference of the means: (pairs, palettes)."""
    solid: AnyFloats
    """What the eye's blur leaves of it at each distance: (distances, pairs, palettes)."""
    left: AnyFloats
    """What the yarns' own texture leaves of that: (distances, pairs, palettes)."""


class Look(NamedTuple):
    """Palettes of n yarns each, and how far from them the eye is."""

    lab: AnyFloats
    """Planes of L*, a* and b*: (3, n, palettes)."""
    light: AnyFloats
    """The same colours as light, see `planes`: (3, n, palettes)."""
    textures: AnyFloats
    """(n, palettes)"""
    distances_m: tuple[float, ...]


def look_at(labs: AnyFloats, textures: AnyFloats, distances_m: tuple[float, ...]) -> Look:
    """Return the look at palettes given as rows: (palettes, n, 3), (palettes, n)."""
    lab = np.ascontiguousarray(labs.T)
    light = lab_to_light(lab.reshape(3, -1)).reshape(lab.shape)
    return Look(lab, light, np.ascontiguousarray(textures.T), distances_m)


def see_pairs(
    labs: AnyFloats, textures: AnyFloats, fabric: Fabric, distances_m: tuple[float, ...]
) -> Seen:
    """Return how every pair of each palette is seen: labs (palettes, n, 3), textures (…, n)."""
    (seen,) = see([look_at(labs, textures, distances_m)], fabric)
    return seen


def see(looks: Sequence[Look], fabric: Fabric) -> list[Seen]:
    """Return what each look shows, all of them for one run of the CIEDE2000 formula.

    The formula costs by the run rather than by the pair, until there are hundreds of pairs.
    """
    plain = [_pairs_of(look.lab) for look in looks]
    blurred = [blend(_pairs_of(look.light), fabric, look.distances_m) for look in looks]
    light = np.concatenate(blurred, axis=-1)
    lab = light_to_lab(light.reshape(3, -1)).reshape(light.shape)
    differences = delta_e_2000_planes(np.concatenate([*plain, lab], axis=-1))
    ends = [*accumulate(part.shape[-1] for part in (*plain, *blurred))]
    parts = [differences[start:end] for start, end in pairwise([0, *ends])]
    means, stripes = parts[: len(looks)], parts[len(looks) :]
    return [_seen(*each, fabric) for each in zip(looks, means, stripes, strict=True)]


def _pairs_of(planes: AnyFloats) -> AnyFloats:
    """Return both yarns of every pair of every palette: (3, n, palettes) -> (3, 2, any)."""
    return planes.take(pair_indices(planes.shape[1]), axis=1).reshape(3, 2, -1)


def _seen(look: Look, plain: AnyFloats, blurred: AnyFloats, fabric: Fabric) -> Seen:
    first, second = look.textures.take(pair_indices(len(look.textures)), axis=0)
    plain = plain.reshape(first.shape)
    # The filter's matrix tints a grey stripe a little as its lightness fades, which CIEDE2000
    # counts as a gain; no distance may show more than there is.
    solid = np.minimum(blurred.reshape(len(look.distances_m), *plain.shape), plain)
    shares = texture_left(fabric, look.distances_m).astype(plain.dtype, copy=False)
    noise = pair_texture(first, second) * shares[:, np.newaxis, np.newaxis]
    return Seen(plain, solid, hide(solid, noise))


def pair_texture(first: AnyFloats, second: AnyFloats) -> AnyFloats:
    """Return the texture of a pair, from both spreads, on the scale of its difference.

    Two stripes D apart stray D / 2 from their common mean; the yarns stray by their spreads.
    Twice the root mean square of those therefore compares with D itself.
    """
    return np.sqrt(2 * (first * first + second * second))


def hide(seen: AnyFloats, texture: AnyFloats) -> AnyFloats:
    """Return what is left of a difference when texture competes with it.

    The difference is scaled by the root of the share of all variation that the stripe accounts
    for: all of it beside solid yarns, about 0.7 where texture and stripe are equal. Our choice,
    after divisive masking in vision science, where a mask divides the response to its target.
    """
    squared = seen * seen
    return squared / np.maximum(np.sqrt(squared + texture * texture), _TINY)


def as_arrays(swatches: Sequence[Swatch]) -> tuple[Floats, Floats]:
    """Return the yarns' L*a*b* and textures: shapes (n, 3) and (n,)."""
    labs = np.array([swatch.lab for swatch in swatches], dtype=np.float64).reshape(-1, 3)
    return labs, np.array([swatch.texture for swatch in swatches], dtype=np.float64)


@lru_cache(maxsize=16)
def pair_indices(count: int) -> NDArray[np.intp]:
    """Return the positions of the first and of the second yarn of every pair: (2, pairs)."""
    places = np.stack(np.triu_indices(count, k=1))
    places.flags.writeable = False
    return places
