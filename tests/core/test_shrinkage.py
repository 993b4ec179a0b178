"""Shrinkage against the two papers' own example, and against simulation.

Batting averages after 45 times at bat: B. Efron and C. Morris (1975), J. Amer. Statist. Assoc. 70,
311-319, as carried by several open statistics packages. Their Scientific American article (1977)
gives the shrinking factor 0.212 and the common mean 0.265 on the plain scale.
"""

import numpy as np
import pytest

from schedule.pattern.shrinkage import combine, fit

HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
AVERAGES = [hits / 45 for hits in HITS]


def test_agrees_with_the_published_shrinking_factor():
    mean = sum(AVERAGES) / 18
    assert mean == pytest.approx(0.265, abs=5e-4)
    sampling = mean * (1 - mean) / 45
    found = fit(AVERAGES, [sampling] * 18)
    assert found.mean == pytest.approx(mean)
    # Stein's factor is the moment estimate's, less a correction for having estimated it.
    weight = (18 - 3) / (18 - 1) * sampling / (sampling + found.between)
    assert 1 - weight == pytest.approx(0.212, abs=2e-3)
    assert found.mean + (1 - weight) * (0.400 - found.mean) == pytest.approx(0.294, abs=1e-3)


def test_a_single_measurement_is_shrunk_by_the_share_of_its_noise():
    mean, covariance = combine(
        np.array([0.265]), np.array([[0.0012]]), [0], np.array([0.4]), np.array([0.0043])
    )
    assert mean[0] == pytest.approx(0.265 + 0.0012 / 0.0055 * 0.135)
    assert covariance[0, 0] == pytest.approx(0.0012 * 0.0043 / 0.0055)


def test_what_is_measured_of_one_thing_moves_its_neighbour_by_their_covariance():
    prior = np.array([[1.0, 0.7], [0.7, 1.0]])
    mean, covariance = combine(np.zeros(2), prior, [0], np.array([1.0]), np.array([1e-12]))
    assert mean == pytest.approx([1.0, 0.7])
    assert covariance[1, 1] == pytest.approx(1 - 0.7**2)


def test_combining_equals_the_precision_form():
    """Another route to the same posterior: inverse covariances add."""
    rng = np.random.default_rng(5)
    root = rng.normal(size=(4, 4))
    prior, noise, values = root @ root.T, np.array([0.3, 0.7]), np.array([1.0, -2.0])
    mean, covariance = combine(np.full(4, 0.1), prior, [1, 3], values, noise)
    precision = np.linalg.inv(prior)
    shift = precision @ np.full(4, 0.1)
    for position, value, variance in zip((1, 3), values, noise, strict=True):
        precision[position, position] += 1 / variance
        shift[position] += value / variance
    assert covariance == pytest.approx(np.linalg.inv(precision))
    assert mean == pytest.approx(np.linalg.solve(precision, shift))


def test_finds_a_known_population_under_unequal_noise():
    rng = np.random.default_rng(11)
    noise = rng.uniform(0.02, 0.2, 4000) ** 2
    values = 0.05 + rng.normal(0, 0.1, 4000) + rng.normal(0, np.sqrt(noise))
    found = fit(values.tolist(), noise.tolist())
    assert found.mean == pytest.approx(0.05, abs=0.005)
    assert np.sqrt(found.between) == pytest.approx(0.1, abs=0.005)
    assert found.mean_variance < 0.003**2


def test_values_closer_than_their_noise_have_no_spread_of_their_own():
    assert fit([0.1, 0.1, 0.1], [0.01] * 3).between == 0
