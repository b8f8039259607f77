"""Lay a tariff on target prices: the first so much, each further so much, nowhere under the target.

Takes    what so many of one kind must bring to leave the wanted margin, for every number of the list's range and some
         beyond.
Gives    the set-up and the price of each with the least excess over the targets, both never under them.
Why      a straight line on or above some points touches their upper hull; which edge it lies on is decided by where the
         middle of the weights falls.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.prices.price_rule import Tariff, as_printed, round_each, round_up
from pricing.shop.policy import Policy


class Fit(NamedTuple):
    """Set-up, each further, each beyond the range, before rounding; one a row. [money]"""

    setup: Array
    each: Array
    beyond: Array


def counts_of(policy: Policy) -> tuple[int, ...]:
    """Find the numbers of units that a tariff is laid over: the range, three times it one by one, and far beyond."""
    near = 3 * policy.list_up_to
    return (*range(1, near + 1), *(near * far for far in _FAR))


_FAR = (2, 5, 20, 1000)
"""How far beyond three times the range it is looked, in multiples of that; from there on a target is a line."""


def fit(target: Array, counts: Array, up_to: int) -> Fit:
    """Lay a line on or above each row of targets.

    Parameters
    ----------
    target : (n, m) array
        What so many must bring. [money]
    counts : (m,) array
        How many; 1 to ``up_to`` first, then beyond.
    up_to : int
        Range over which the excess is kept small.

    Returns
    -------
    Fit
        Set-up 0 or more and ``each`` such that ``setup + each * count`` is at no count under the target, with the
        least mean excess relative to the target over the range; ``each`` is not under what one more brings far
        beyond it. ``beyond`` carries on from the line's end, again on or above.

    Notes
    -----
    A linear programme of two unknowns. Its objective weighs the line at the weights' middle abscissa only, so the
    best line carries the edge of the points' upper hull that lies above it.
    """
    near, at = target[:, :up_to], counts[:up_to]
    weight = 1.0 / near
    middle = (weight * at).sum(axis=1) / weight.sum(axis=1)
    far = np.maximum((target[:, -1] - target[:, -2]) / (counts[-1] - counts[-2]), 0.0)
    each = np.maximum(_slope_of_hull(target, counts, middle, up_to), far)
    setup = (target - each[:, None] * counts).max(axis=1)
    each = np.where(setup < 0, np.maximum((target / counts).max(axis=1), far), each)
    setup = np.maximum((target - each[:, None] * counts).max(axis=1), 0.0)
    end = setup + each * up_to
    rest = (target[:, up_to:] - end[:, None]) / (counts[up_to:] - up_to)
    beyond = np.minimum(each, np.maximum(rest.max(axis=1), far))
    return Fit(setup, each, beyond)


def _slope_of_hull(target: Array, counts: Array, middle: Array, up_to: int) -> Array:
    """Slope of the edge of each row's upper hull above an abscissa: the highest chord there is one."""
    below = counts[:up_to] <= middle.max()  # no row needs the others
    above = counts > middle.min()
    left, right = counts[:up_to][below][:, None], counts[above][None, :]
    starts, ends = target[:, :up_to][:, below][:, :, None], target[:, above][:, None, :]
    slopes = (ends - starts) / np.where(right > left, right - left, np.nan)
    heights = starts + slopes * (middle[:, None, None] - left)
    spans = (left <= middle[:, None, None]) & (right > middle[:, None, None])
    best = np.where(spans, heights, -np.inf).reshape(len(target), -1).argmax(axis=1)
    return np.asarray(slopes.reshape(len(target), -1)[np.arange(len(target)), best])


def tariffs(found: Fit, policy: Policy) -> list[Tariff]:
    """Round fits without tax up as they are printed, one tariff a row."""
    taxed = as_printed(policy)
    each = np.asarray(round_each(found.each * taxed, policy))
    first = np.maximum(round_up((policy.setup_charged * found.setup + found.each) * taxed, policy), each)
    beyond = np.minimum(np.asarray(round_each(found.beyond * taxed, policy)), each)
    return _laid(first, each, beyond, policy)


def _laid(first: Array, each: Array, beyond: Array, policy: Policy) -> list[Tariff]:
    rows = zip(first.tolist(), each.tolist(), beyond.tolist(), strict=True)
    return [Tariff(*amounts, policy.list_up_to) for amounts in rows]


def adders(base: Fit, more: Fit, policy: Policy) -> list[Tariff]:
    """Collect what must be added to the tariffs of one fit so that they are not under those of another.

    Amounts are 0 or more, ``first`` is not under ``each``.
    """
    taxed = as_printed(policy)

    def up(amount: Array) -> Array:
        return np.asarray(round_each(np.maximum(amount, 0.0) * taxed, policy))

    beyond, each = up(more.beyond - base.beyond), up(more.each - base.each)
    each = np.maximum(each, beyond)
    first = np.maximum(up(more.setup + more.each - base.setup - base.each), each)
    return _laid(first, each, beyond, policy)
