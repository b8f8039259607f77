"""Which observations to make so that the coefficients of a model are known best: D-optimal designs.

Criterion the determinant of the information matrix, what is known already included (Bayesian
          D-optimality: K. Chaloner, I. Verdinelli, "Bayesian experimental design: a review", Statistical
          Science 10, 1995; without prior: V. V. Fedorov, "Theory of optimal experiments", 1972, whose
          exchanges are used). From memory.
Checked   on the 12-run design of the NIST/SEMATECH e-Handbook of Statistical Methods, 5.5.2.1, in the tests.
"""

from collections.abc import Sequence
from itertools import combinations
from math import comb

import numpy as np

from pricing.basis.arrays import Array

_MOST_TRIED = 3000


def best_rows(candidates: Sequence[Array], known: Array, count: int) -> tuple[int, ...]:
    """Choose observations that together tell most: all choices where they are few, else Fedorov's exchanges.

    Parameters
    ----------
    candidates : sequence of (m, k) array
        What each choice would observe: one row, or several that come together.
    known : (k, k) array
        Information before; zeros are allowed where enough is chosen.
    count : int
        How many to choose, each at most once.

    Returns
    -------
    tuple of int
        Places among the candidates, in rising order.

    Examples
    --------
    >>> line = [np.array([[1.0, x]]) for x in (-1.0, -0.5, 0.0, 0.5, 1.0)]
    >>> best_rows(line, np.zeros((2, 2)), 2)
    (0, 4)
    """
    count, places = min(count, len(candidates)), range(len(candidates))
    gains = [rows.T @ rows for rows in candidates]

    def volume(chosen: Sequence[int]) -> float:
        sign, size = np.linalg.slogdet(known + sum((gains[i] for i in chosen), np.zeros_like(known)))
        return float(size) if sign > 0 else -np.inf

    if comb(len(candidates), count) <= _MOST_TRIED:
        return max(combinations(places, count), key=volume, default=())
    ridge = 1e-6 * np.trace(sum(gains)) / len(known) * np.eye(len(known))  # a start where nothing is known yet
    chosen: list[int] = []
    information = known + ridge
    for _ in range(count):
        rest = [i for i in places if i not in chosen]
        best = max(rest, key=lambda i: float(np.linalg.slogdet(information + gains[i])[1]))
        chosen.append(best)
        information = information + gains[best]
    now, moved = volume(chosen), True
    while moved:
        moved = False
        for at in range(count):
            rest = [i for i in places if i not in chosen]
            swapped = [[*chosen[:at], i, *chosen[at + 1 :]] for i in rest]
            best_swap = max(swapped, key=volume, default=chosen)
            if volume(best_swap) > now + 1e-9:
                chosen, now, moved = best_swap, volume(best_swap), True
    return tuple(sorted(chosen))
