"""Invented photos as linear-light arrays: yarn with plies and shadow, paper, tables, lamps."""

import numpy as np

from palettes.colour.spaces import lab_to_linear


def yarn(lab, *, size=240, style="solid", seed=1):
    """Return a square of wound yarn: its colour, the shadow between plies, its dyer's hand."""
    rng = np.random.default_rng(seed)
    labs = np.broadcast_to(np.array(lab, float), (size, size, 3)).copy()
    if style in {"semi-solid", "tonal"}:
        labs[..., 0] += _slow_noise(rng, size, cells=14) * (4.5 if style == "semi-solid" else 11)
    if style == "variegated":
        labs[..., 1] += _slow_noise(rng, size, cells=10) * 14
        labs[..., 2] += _slow_noise(rng, size, cells=10) * 14
    if style == "speckled":
        spots = np.kron(rng.random((24, 24)) < 0.08, np.ones((size // 24, size // 24)))
        labs[spots > 0] = (30.0, 45.0, 5.0)
    linear = lab_to_linear(np.clip(labs, (2, -100, -100), (98, 100, 100)))
    plies = 0.85 + 0.15 * np.sin(np.arange(size) * 2 * np.pi / 6)
    grain = 1 + 0.04 * rng.standard_normal((size, size, 1))
    return np.clip(linear * plies[np.newaxis, :, np.newaxis] * grain, 0, 1)


def flat(lab, rows, columns):
    """Return an evenly lit area of one colour."""
    return np.broadcast_to(lab_to_linear(np.array(lab, float)), (rows, columns, 3)).copy()


def _slow_noise(rng, size, *, cells):
    coarse = rng.standard_normal((cells, cells))
    steps = np.linspace(0, cells - 1, size)
    across = np.stack([np.interp(steps, np.arange(cells), row) for row in coarse])
    noise = np.stack([np.interp(steps, np.arange(cells), column) for column in across.T], axis=1)
    return np.clip((noise - noise.mean()) / noise.std(), -2, 1.8)
