"""Grouping by k-means, against another implementation of it."""

import numpy as np
import pytest
from scipy.cluster.vq import kmeans2

from palettes.colour.kmeans import group_points


def blobs(seed, count, spread):
    rng = np.random.default_rng(seed)
    middles = rng.uniform(-40, 40, (count, 3))
    return np.concatenate([middle + spread * rng.standard_normal((60, 3)) for middle in middles])


@pytest.mark.parametrize("seed", range(5))
def test_another_kmeans_moves_nothing_once_it_is_settled(seed):
    """SciPy's kmeans2, begun at these means, keeps means and groups."""
    points = blobs(seed, 6, 2.0)
    nearest, means = group_points(points, 6)
    again, same = kmeans2(points, means, iter=5, minit="matrix")
    assert again == pytest.approx(means)
    assert (same == nearest).all()


def test_groups_far_apart_are_told_apart():
    nearest, _ = group_points(blobs(3, 4, 0.5), 4)
    assert all(len(set(group)) == 1 for group in nearest.reshape(4, 60).tolist())
    assert len(set(nearest.tolist())) == 4


def test_fewer_colours_than_asked_for_are_as_many_groups():
    nearest, means = group_points(np.array([[1.0, 0, 0], [1, 0, 0], [9, 0, 0]]), 5)
    assert len(means) == 2
    assert nearest[0] == nearest[1] != nearest[2]
