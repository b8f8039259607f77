"""Learning: how hand work gets quicker with each repeat, where it does.

Takes    the time of the first piece, how many, and the slope: 0.80 for an 80 % curve.
Gives    average times by Wright's model: doubling the number multiplies the average.
Rule     a slope of 1 is no learning, and the default everywhere: count on learning only when the
         log of past jobs shows it.
"""

from collections.abc import Mapping
from math import log2

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem

_ONCE = ("job", "enquiry", "load", "colour", "coat", "panel")
"""Drivers that are not repeated piece by piece, and so not learned within a job."""


def average_time(first: Floats, count: int, *, slope: float) -> Floats:
    """Work out the mean time of so many pieces on end.

    Parameters
    ----------
    first : float or array
        Time of the first, in any unit.
    count : int
        How many, 1 or more.
    slope : float
        What doubling the number leaves of the average time, above 0 and at most 1.

    Raises
    ------
    BadInput
        The slope is not one of those.

    Examples
    --------
    >>> round(average_time(100.0, 8, slope=0.80), 2)
    51.2
    """
    if not 0 < slope <= 1:
        mend = f"Write {slope:g} % as {slope / 100:g}." if 1 < slope <= 100 else ""
        raise BadInput("learning", [Problem("slope", slope, "above 0 and at most 1", mend)])
    return first * float(count ** (1 + log2(slope))) / count


def learned(book: Mapping[str, float], count: int, *, slope: float) -> dict[str, float]:
    """Collect the hand rates of a batch that is done quicker from piece to piece.

    Parameters
    ----------
    book : mapping of str to float
        Numbers of a quote; rates are named ``step.driver.hands``.
    count : int
        Pieces of the batch.
    slope : float
        As in `average_time`.

    Returns
    -------
    dict
        The rates that change: hand rates whose driver is repeated piece by piece.
    """
    factor = float(average_time(1.0, count, slope=slope))
    found = {}
    for key, rate in book.items():
        words = key.split(".")
        if len(words) == 3 and words[2] == "hands" and words[1] not in _ONCE:
            found[key] = rate * factor
    return found
