"""Hand work: standard times from observed ones, and the floor that motions set.

Takes    observed times, ratings, allowances and tables of motions, floats or arrays.
Gives    standard minutes and floors in seconds.
Numbers  none in this file: motion times come in from ``data/facts.csv``.
Room     physics. Imports basis. Imported by steps and the ledger.
"""

from math import pi
from typing import Literal

from pricing.basis.checks import Floats, nonneg, positive
from pricing.basis.errors import BadInput, Problem, choices, nearest

SECONDS_PER_TMU = 0.036  # by definition: one hundred-thousandth of an hour
_BASES = ("working time", "whole shift")


def standard_min(
    observed_min: Floats,
    *,
    rating: Floats,
    allowance_share: Floats,
    of: Literal["working time", "whole shift"] = "working time",
) -> Floats:
    """Standard time of a task: ``observed x rating x (1 + allowance)``.

    Parameters
    ----------
    observed_min : float or array
        Mean of the observed times [min].
    rating : float or array
        Pace of the person observed: 1 is the usual pace, 1.1 a tenth faster.
    allowance_share : float or array
        Allowance for needs, fatigue and delay, as a share.
    of : {'working time', 'whole shift'}
        What the allowance is a share of. At 15 % the two differ by 2.3 %: say which one it is.

    Returns
    -------
    float or array
        Standard time [min].

    Raises
    ------
    BadInput
        A value is out of range or the base is unknown.

    Examples
    --------
    >>> round(standard_min(10.0, rating=1.1, allowance_share=0.15), 3)
    12.65
    >>> round(standard_min(10.0, rating=1.1, allowance_share=0.15, of="whole shift"), 3)
    12.941
    """
    if of not in _BASES:
        raise BadInput("standard time", [Problem("of", of, choices(_BASES), nearest(of, _BASES))])
    nonneg("standard time", observed_min=observed_min, allowance_share=allowance_share)
    positive("standard time", rating=rating)
    if of == "working time":
        return observed_min * rating * (1.0 + allowance_share)
    positive("standard time", working_share=1.0 - allowance_share)
    return observed_min * rating / (1.0 - allowance_share)


def motions_s(*motions_tmu: Floats) -> Floats:
    """Time of a string of motions at 100 % performance, without allowances.

    Parameters
    ----------
    *motions_tmu : float or array
        Times of the motions from a table [TMU].

    Returns
    -------
    float or array
        Seconds.

    Raises
    ------
    BadInput
        No motion is given, or one is negative.

    Examples
    --------
    >>> round(motions_s(12.9, 2.0, 15.2), 3)
    1.084
    """
    if not motions_tmu:
        raise BadInput("motions", [Problem("motions_tmu", [], "at least one motion")])
    nonneg("motions", **{f"motion_{i}": tmu for i, tmu in enumerate(motions_tmu, 1)})
    return sum(motions_tmu[1:], motions_tmu[0]) * SECONDS_PER_TMU


def wipe_floor_s_per_m(strokes_per_m: Floats, stroke_tmu: Floats) -> Floats:
    """Least time to wipe a metre of line: strokes out and as many back.

    Parameters
    ----------
    strokes_per_m : float or array
        Overlapping strokes for a metre.
    stroke_tmu : float or array
        Time of one move of the hand [TMU].

    Returns
    -------
    float or array
        Seconds a metre; the cloth refolded, the look and rest come on top, several times as much.

    Raises
    ------
    BadInput
        A value is negative or not finite.

    Examples
    --------
    >>> round(wipe_floor_s_per_m(4, 12.2), 2)
    3.51
    """
    nonneg("wiping", strokes_per_m=strokes_per_m, stroke_tmu=stroke_tmu)
    return 2.0 * strokes_per_m * stroke_tmu * SECONDS_PER_TMU


def per_area_h_per_m2(per_length_h_per_m: Floats, outer_mm: Floats) -> Floats:
    """Time per area of work that was timed along a pipe; small pipe takes more for its area.

    Parameters
    ----------
    per_length_h_per_m : float or array
        Hours a metre.
    outer_mm : float or array
        Outer diameter [mm].

    Returns
    -------
    float or array
        Hours a square metre.

    Raises
    ------
    BadInput
        The time is negative or the diameter not above 0.

    Examples
    --------
    >>> round(per_area_h_per_m2(0.59055, 323.85), 2)
    0.58
    """
    nonneg("pipe work", per_length_h_per_m=per_length_h_per_m)
    positive("pipe work", outer_mm=outer_mm)
    return per_length_h_per_m / (pi * outer_mm * 1e-3)
