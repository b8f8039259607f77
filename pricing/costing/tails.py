"""Order statistics of many draws without sorting them, exact to the last draw.

A fixed-bin histogram tells in which bin a quantile or a price falls; only the few draws of that
bin are looked at one by one. On a million draws that is a few milliseconds where a sort takes
fifty, and the answer is the same.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pricing.basis.arrays import Array

_BINS = 1 << 14
_PIECE = 1 << 15  # draws binned at a time, so that the steps stay in cache


class Tails:
    """Draws with a histogram beside them.

    Parameters
    ----------
    draws : (n,) array
        Finite numbers, in any order; kept, not copied.
    """

    def __init__(self, draws: Array) -> None:
        self.draws = draws
        self._low, self._high = float(draws.min()), float(draws.max())
        width = self._high - self._low
        self._scale = (_BINS - 1) / width if width > 0 else 0.0
        if not np.isfinite(self._scale):
            self._scale = 0.0  # all draws are one number, but for its last bits
        self._bin = np.empty(draws.size, dtype=np.int16)
        counts = np.zeros(_BINS, dtype=np.int64)
        for start in range(0, draws.size, _PIECE):
            piece = self._bin_of(draws[start : start + _PIECE])
            self._bin[start : start + _PIECE] = piece
            counts += np.bincount(piece, minlength=_BINS)
        self._upto = np.concatenate([[0], np.cumsum(counts)])

    def _bin_of(self, values: Array) -> npt.NDArray[np.intp]:
        """Bin by a rising function, the same for draws and prices, so that no draw changes side."""
        return ((values - self._low) * self._scale).astype(np.intp)

    def ranked(self, ranks: Sequence[int]) -> Array:
        """Work out the draws of some ranks, 0 the lowest."""
        found = np.empty(len(ranks))
        for i, rank in enumerate(ranks):
            bin_ = int(np.searchsorted(self._upto, rank, side="right")) - 1
            inside = self.draws[self._bin == bin_]
            at = rank - int(self._upto[bin_])
            found[i] = np.partition(inside, at)[at]
        return found

    def quantiles(self, shares: Sequence[float]) -> Array:
        """Work out quantiles, with straight lines between draws as `numpy.quantile` does."""
        last = self.draws.size - 1
        place = np.asarray(shares, dtype=np.float64) * last
        below = np.minimum(place.astype(np.intp), max(0, last - 1))
        ends = self.ranked([rank for low in below for rank in (int(low), min(int(low) + 1, last))])
        low, high = ends[0::2], ends[1::2]
        return np.asarray(low + (high - low) * (place - below), dtype=np.float64)

    def above(self, prices: Array) -> npt.NDArray[np.int64]:
        """Count the draws above each price."""
        inside = self._bin_of(np.clip(prices, self._low, self._high))
        wanted = np.zeros(_BINS, dtype=bool)
        wanted[inside] = True
        near = np.sort(self.draws[wanted[self._bin]])
        # of the draws in looked-at bins, those above the price; plus all draws of bins not looked at above it
        counts = np.diff(self._upto)
        skipped = np.concatenate([np.cumsum(np.where(wanted, 0, counts)[::-1])[::-1], [0]])
        return np.asarray(near.size - np.searchsorted(near, prices, side="right") + skipped[inside], dtype=np.int64)
