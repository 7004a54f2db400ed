"""Products in blocks are the plain products."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.inference.blocks import block_size, dot, slices, times, weighted_gram, weighted_sum


@pytest.mark.parametrize("rows", [0, 1, 511, 512, 513, 3000])
def test_blocks_change_nothing(rows):
    rng = np.random.default_rng(rows)
    tall, small, vector, weights = (
        rng.normal(size=(rows, 5)),
        rng.normal(size=(5, 4)),
        rng.normal(size=5),
        rng.random(rows),
    )
    assert times(tall, small) == pytest.approx(tall @ small)
    assert dot(tall, vector) == pytest.approx(tall @ vector)
    assert weighted_sum(weights, tall) == pytest.approx(weights @ tall)
    assert weighted_gram(tall, weights) == pytest.approx(tall.T @ np.diag(weights) @ tall)


def test_slices_cover_everything_once():
    assert [list(range(10))[part] for part in slices(10, 4)] == [[0, 1, 2, 3], [4, 5, 6, 7], [8, 9]]


def test_blocks_are_never_empty_and_never_large():
    assert block_size(10**9) == 1
    assert block_size(1) == 512
