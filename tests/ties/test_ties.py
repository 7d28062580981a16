"""Of amounts that agree to a millionth the first is the largest, on either side of the last bit."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from steelyard.ties import largest, ranked, smallest

Pair = tuple[str, float]


def amount(pair: Pair) -> float:
    return pair[1]


@pytest.mark.parametrize("toward", [-math.inf, math.inf])
def test_the_last_bit_chooses_nothing(toward: float) -> None:
    pairs = [("1L", 63.2), ("1R", math.nextafter(63.2, toward)), ("2L", 12.0), ("2R", math.nextafter(12.0, toward))]
    assert largest(pairs, amount)[0] == "1L"
    assert smallest(pairs, amount)[0] == "2L"
    assert [name for name, _ in ranked(pairs, amount)] == ["1L", "1R", "2L", "2R"]


def test_what_differs_is_told_apart() -> None:
    pairs = [("a", 1.0), ("b", 1.0 + 1e-5), ("c", -3.0)]
    assert largest(pairs, amount)[0] == "b"
    assert smallest(pairs, amount)[0] == "c"
    assert [name for name, _ in ranked(pairs, amount)] == ["b", "a", "c"]


def test_nothing_and_endless_amounts() -> None:
    assert largest([("a", 0.0), ("b", 0.0)], amount)[0] == "a"
    assert largest([("a", 1e300), ("b", math.inf), ("c", math.inf)], amount)[0] == "b"
    assert smallest([("a", -math.inf), ("b", -1e300)], amount)[0] == "a"
    assert [name for name, _ in ranked([("a", 1.0), ("b", math.inf)], amount)] == ["b", "a"]
    with pytest.raises(ValueError, match="empty"):
        largest([], amount)


def test_ranks_are_a_permutation_in_falling_order() -> None:
    rng = np.random.default_rng(5)
    pairs = [(str(at), float(rng.choice([1.0, 2.0, 3.0]) * (1.0 + 1e-15 * rng.normal()))) for at in range(40)]
    found = ranked(pairs, amount)
    assert sorted(found) == sorted(pairs)
    assert all(one[1] > other[1] - 1e-9 for one, other in itertools.pairwise(found))
    whole = [round(value) for _, value in found]
    for level in (1, 2, 3):
        names = [int(name) for (name, _), rank in zip(found, whole, strict=True) if rank == level]
        assert names == sorted(names)
