"""
Triples: cuts for a choice in shares that no whole choice breaks.  Of any three moves, at most one run does two or more.

A mixture of runs can do each of three moves once and hold half of each of three runs that do two of them; a plan cannot
(subset-row inequalities: Jepsen, Petersen, Spoorendonk and Pisinger 2008, Operations Research 56).
"""

import numpy as np
import numpy.typing as npt

Does = npt.NDArray[np.bool_]  # by column and move
Triples = npt.NDArray[np.int64]  # three moves a row
Floats = npt.NDArray[np.float64]

MOST_AT_ONCE = 15
BROKEN_BY = 0.05  # a share of a run; less is hardly worth a row


def broken_triples(does: Does, shares: Floats) -> Triples:
    """Return the triples that the shares of some columns break the most, none where they break none."""
    moves = np.flatnonzero(does.any(axis=0))
    does = does[:, moves]
    both = (does * shares[:, None]).T @ does  # the share of runs that do both of two moves
    pairs = both[:, :, None] + both[:, None, :] + both[None, :, :]
    ranks = np.arange(len(moves))
    is_ordered = (ranks[:, None, None] < ranks[None, :, None]) & (ranks[None, :, None] < ranks[None, None, :])
    found = np.argwhere(is_ordered & (pairs > 1 + BROKEN_BY))
    all_three = shares @ does[:, found].all(axis=2)  # counted in each of its three pairs, and wanted once
    held = pairs[tuple(found.T)] - 2 * all_three
    worst = [rank for rank in np.argsort(-held, kind="stable")[:MOST_AT_ONCE] if held[rank] > 1 + BROKEN_BY]
    return np.asarray(moves[found[worst]], np.int64).reshape(-1, 3)


def counts_in(does: Does, triples: Triples) -> Does:
    """Return by column and triple whether the column does two or more of its moves."""
    first, second, third = (does[:, triples[:, rank]] for rank in range(3))
    return np.asarray((first & (second | third)) | (second & third), np.bool_)
