"""Whole counts of what goes wrong: failures before so many parts have come out good."""

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.costing.graph import traceable

_TOO_FAR = -600.0  # logarithm of the chance of no failure at all, near the smallest float


@traceable
def failures(good: Floats, chance: Floats, luck: Floats) -> Floats:
    """Count failures before a number of successes: the negative binomial, by its inverse.

    Parameters
    ----------
    good : float or (n,) array
        Parts that must come out good; whole numbers.
    chance : float or (n,) array
        Chance that one attempt fails, 0 to below 1.
    luck : float or (n,) array
        Uniform numbers above 0 and below 1, such as ``draws["luck.reject"]``.

    Returns
    -------
    float or (n,) array
        Whole counts; their mean is ``good x chance/(1 - chance)``.

    Raises
    ------
    BadInput
        A chance is not from 0 to below 1, or good is not a whole number above 0.

    Examples
    --------
    >>> failures(1, 0.1, np.array([0.5, 0.95, 0.995]))
    array([0., 1., 2.])
    """
    p, u, n = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in (chance, luck, good)))
    bad = []
    if not (np.all(n >= 1) and np.all(n == np.floor(n))):
        bad.append(Problem("good", float(n.flat[0]), "a whole number, 1 or more"))
    if not (np.all(p >= 0) and np.all(p < 1)):
        bad.append(Problem("chance", float(p[~((p >= 0) & (p < 1))].flat[0]), "from 0 to below 1"))
    if bad:
        raise BadInput("a loop", bad)
    shape, p, u, n = p.shape, p.ravel(), u.ravel(), n.ravel()
    none = n * np.log1p(-p)
    if none.min() < _TOO_FAR:
        from scipy.stats import nbinom  # heavy, and slow: only where the sum below would begin at nothing

        found = np.asarray(nbinom.ppf(u, n, 1 - p), dtype=np.float64)
        return float(found[0]) if not shape else found.reshape(shape)
    term = np.exp(none)
    left = u - term
    count = np.zeros(p.size)
    on = np.flatnonzero(left > 0)
    still, k = on, 0.0
    while on.size:  # fewer are left after each round, so the rounds cost little
        k += 1
        term, left, p, n = (array.take(on, mode="wrap") for array in (term, left, p, n))
        count[still] = k
        term = term * p * ((n + k - 1) / k)
        left = left - term
        grows = p * (n + k) > k + 1
        on = np.flatnonzero((left > 0) & (grows | (term > 1e-18)))  # smaller terms no longer move the sum
        still = still.take(on, mode="wrap")
    return float(count[0]) if not shape else count.reshape(shape)
