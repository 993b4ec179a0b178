"""Many uncertain measurements of alike things: their common mean, their spread, and each one.

Values are normal about their own true value with a known variance, and the true values are normal
about a common mean: y ~ N(theta, V), theta ~ N(mu, A). Sources: B. Efron and C. Morris (1975),
Data Analysis Using Stein's Estimator and Its Generalizations, J. Amer. Statist. Assoc. 70,
311-319; C. N. Morris (1983), Parametric Empirical Bayes Inference, same journal 78, 47-55. The
iteration for unequal variances is Morris's, written down from memory; with equal variances it
gives their published estimates, which a test checks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_ROUNDS: Final = 200
_CLOSE: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Population:
    """The common mean, its own variance, and the variance of true values between members."""

    mean: float
    mean_variance: float
    between: float
    size: int


def fit(values: Sequence[float], variances: Sequence[float]) -> Population:
    """Return the population behind two or more values with known variances, each above 0.

    Moments, weighted by 1 / (V + A) and iterated until A stands still; A is at least 0.
    """
    y, v = np.asarray(values, dtype=float), np.asarray(variances, dtype=float)
    inflate = len(y) / (len(y) - 1)
    between = max(0.0, float(np.var(y) * inflate - v.mean()))
    for _ in range(_ROUNDS):
        weights = 1 / (v + between)
        mean = float(np.average(y, weights=weights))
        moment = float(np.average(inflate * (y - mean) ** 2 - v, weights=weights))
        previous, between = between, max(0.0, moment)
        if abs(between - previous) < _CLOSE:
            break
    return Population(mean, float(1 / weights.sum()), between, len(y))


def combine(
    prior_mean: Floats, prior_covariance: Floats, seen: Sequence[int], values: Floats, noise: Floats
) -> tuple[Floats, Floats]:
    """Return mean and covariance of a normal vector after some of its entries were measured.

    `seen` are positions; `values` and `noise` (variances) belong to them. With one entry this is
    Efron and Morris's shrinkage: mean + A / (A + V) times the deviation.
    """
    positions = list(seen)
    across = prior_covariance[:, positions]
    total = across[positions] + np.diag(noise)
    gain = np.linalg.solve(total, across.T).T
    return (
        prior_mean + gain @ (values - prior_mean[positions]),
        prior_covariance - gain @ across.T,
    )
