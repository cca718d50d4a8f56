"""Cuts on three moves, against every triple counted one by one."""

from itertools import combinations

import numpy as np
import pytest

from planner.search.triples import BROKEN_BY, MOST_AT_ONCE, broken_triples, counts_in


def some_parts(seed):
    rng = np.random.default_rng(seed)
    return rng.random((30, 11)) < 0.3, rng.random(30) * 0.4


def held_by_counting(does, shares):
    """The share of runs that do two or more of three moves, for each three moves."""
    return {
        triple: sum(share for row, share in zip(does, shares, strict=True) if row[list(triple)].sum() >= 2)
        for triple in combinations(range(does.shape[1]), 3)
    }


@pytest.mark.parametrize("seed", range(20))
def test_the_triples_broken_most_are_found(seed):
    does, shares = some_parts(seed)
    held = held_by_counting(does, shares)
    broken = sorted((share for share in held.values() if share > 1 + BROKEN_BY), reverse=True)
    found = [tuple(int(move) for move in triple) for triple in broken_triples(does, shares)]
    assert len(set(found)) == len(found)
    assert [held[triple] for triple in found] == pytest.approx(broken[:MOST_AT_ONCE])


@pytest.mark.parametrize("seed", range(20))
def test_no_whole_choice_breaks_a_triple(seed):
    """Runs of a plan share no move, so at most one of them does two of any three."""
    does, _ = some_parts(seed)
    chosen: list[int] = []
    for rank in np.random.default_rng(seed).permutation(len(does)):
        if not (does[chosen] & does[rank]).any():
            chosen.append(int(rank))
    triples = np.array(list(combinations(range(does.shape[1]), 3)))
    assert counts_in(does[chosen], triples).sum(axis=0).max() <= 1
    assert not len(broken_triples(does[chosen], np.ones(len(chosen))))


def test_three_halves_of_pairs_are_cut_off():
    """The smallest mixture that no plan can be: each of three moves once, by half of each of three runs of two."""
    does = np.array([[True, True, False], [True, False, True], [False, True, True]])
    assert broken_triples(does, np.full(3, 0.5)).tolist() == [[0, 1, 2]]
    assert not len(broken_triples(does, np.full(3, 1 / 3)))


def test_nothing_in_parts_breaks_nothing():
    assert broken_triples(np.zeros((0, 5), np.bool_), np.zeros(0)).shape == (0, 3)
