"""Newton's method on the model of `pricing.ledger.mixture`, for a log of any length.

Takes    rows, belief, and a good starting point.
Gives    the peak of the plausibility and the covariance of the log rates at it.
Why      near the peak a step squares the error. A million rows start from the peak of some thousand,
         with the curvature found there, and need two or three passes; a pass goes block by block
         through the processor's cache.
"""

from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.ledger.mixture import Belief, MixtureRows, MixtureState, prior_precision, read_mixture, weigh

_CLOSE = 0.1  # of a standard error; what is left after the step is far less
_FEW_PASSES = 8
_MOST_PASSES = 100
_REACH = 1.0  # a log rate moves at most by this in one pass


class _Scores(NamedTuple):
    """The log likelihood about a state; order: log rates, log scatter, logit share, centre, log spread."""

    slope: Array  # (k + 4,)
    curvature: Array  # (k + 4, k + 4), of minus the log likelihood
    outer: Array  # (k + 4, k + 4), sum over rows of slope x slope


_BLOCK = 7_000  # rows whose columns stay in the processor's cache, and whose sums a BLAS does in one thread


def _scores(rows: MixtureRows, state: MixtureState, desk: Array, *, outer: bool = False) -> _Scores:
    size = len(state.beta) + 4
    total = _Scores(np.zeros(size), np.zeros((size, size)), np.zeros((size, size)))
    for first in range(0, len(rows.log_min), _BLOCK):
        block = MixtureRows(rows.log_min[first : first + _BLOCK], rows.amounts[:, first : first + _BLOCK])
        more = _block_scores(block, state, desk, outer=outer)
        total = _Scores(*(kept + new for kept, new in zip(total, more, strict=True)))
    return total


def _desk(rows: MixtureRows) -> Array:
    """Work out room for the columns of a block; made once, since new pages cost more than the sums."""
    k, n = rows.amounts.shape
    return np.empty((2 * k + 20, min(_BLOCK, n)))


def _block_scores(rows: MixtureRows, state: MixtureState, desk: Array, *, outer: bool) -> _Scores:  # noqa: PLR0915  one pass
    """Sum one block; every array is a row of ``desk`` and is written in place."""
    k, n = rows.amounts.shape
    desk = desk[:, :n]
    parts, by_rate, lean, each = desk[:k], desk[k : k + 5], desk[k + 5 : k + 9], desk[k + 9 : 2 * k + 13]
    t, u, weight, odd, both, spare, slack = desk[2 * k + 13 : 2 * k + 20]
    np.multiply(rows.amounts, np.exp(state.beta)[:, None], out=parts)
    np.sum(parts, axis=0, out=spare)
    parts /= spare
    np.log(spare, out=spare)
    np.subtract(rows.log_min, spare, out=spare)  # the residual
    np.multiply(spare, 1 / state.scatter, out=t)
    spare -= state.over_centre
    np.multiply(spare, 1 / state.over_spread, out=u)
    t2, minus_one, minus_u, minus_u2 = lean
    minus_one.fill(-1.0)
    np.multiply(t, t, out=t2)
    np.multiply(u, u, out=minus_u2)
    np.subtract(t2, minus_u2, out=spare)
    weigh(spare, state, out=weight)
    np.subtract(1.0, weight, out=odd)
    np.multiply(weight, odd, out=both)
    t2 -= 1.0
    np.subtract(1.0, minus_u2, out=minus_u2)
    t *= 1 / state.scatter
    u *= 1 / state.over_spread
    np.negative(u, out=minus_u)
    np.subtract(t, u, out=spare)  # the gap between the two kinds' pulls
    slope_rate, with_scatter, lift, with_centre, with_spread = by_rate
    np.multiply(both, spare, out=lift)
    spare *= lift
    inv_s2, inv_o2 = 1 / state.scatter**2, 1 / state.over_spread**2
    t *= weight  # from here on: the pull of the work
    u *= odd  # and of the odd rows
    np.add(t, u, out=slope_rate)
    np.multiply(lift, t2, out=slack)
    np.multiply(t, 2.0, out=with_scatter)
    with_scatter -= slack
    np.multiply(odd, inv_o2, out=with_centre)
    np.multiply(weight, inv_s2, out=slack)
    slack += with_centre
    slack -= spare  # weight of a rate's own curvature
    np.multiply(lift, minus_u, out=spare)
    with_centre -= spare
    np.multiply(lift, minus_u2, out=spare)
    np.multiply(u, 2.0, out=with_spread)
    with_spread -= spare
    weight_sum, odd_sum, pull = float(weight.sum()), float(odd.sum()), float(u.sum())
    scatter_slope, spread_slope = float(weight @ t2), -float(odd @ minus_u2)
    from_rate = parts @ by_rate.T
    slope = np.array([*from_rate[:, 0], scatter_slope, odd_sum - n * state.share, pull, spread_slope])
    curve = np.zeros((k + 4, k + 4))
    np.multiply(parts, slack, out=each[:k])
    curve[:k, :k] = each[:k] @ parts.T
    curve[:k, k:] = from_rate[:, 1:]
    curve[k:, :k] = curve[:k, k:].T
    np.multiply(lean, both, out=each[:4])
    inner = -each[:4] @ lean.T
    certain = n * state.share * (1 - state.share)
    inner[np.diag_indices(4)] += [
        2 * (scatter_slope + weight_sum),
        certain,
        odd_sum * inv_o2,
        2 * (spread_slope + odd_sum),
    ]
    inner[[2, 3], [3, 2]] += 2 * pull
    curve[k:, k:] = inner
    if not outer:
        return _Scores(slope, curve, np.zeros_like(curve))
    np.multiply(parts, slope_rate, out=each[:k])
    np.multiply(weight, t2, out=each[k])
    np.subtract(odd, state.share, out=each[k + 1])
    each[k + 2] = u
    np.multiply(odd, minus_u2, out=each[k + 3])
    np.negative(each[k + 3], out=each[k + 3])
    return _Scores(slope, curve, each @ each.T)


def _with_belief(scores: _Scores, state: MixtureState, belief: Belief, decided: float) -> tuple[Array, Array]:
    """Add the belief to the slope (k + 4,) and the curvature."""
    k, curve = len(state.beta), scores.curvature.copy()
    ratio, wide = (belief.scatter / state.scatter) ** 2, (belief.over_spread / state.over_spread) ** 2
    curve[np.diag_indices(k)] += prior_precision(state, belief)
    curve[k, k] += 2 * belief.scatter_jobs * ratio
    curve[k + 1, k + 1] += belief.share_jobs * state.share * (1 - state.share)
    curve[k + 2, k + 2] += belief.over_centre_rows / state.over_spread**2
    curve[k + 3, k + 3] += 2 * belief.over_spread_rows * wide
    return scores.slope + _belief_slope(state, belief, decided), curve


def _belief_slope(state: MixtureState, belief: Belief, decided: float) -> Array:
    ratio, wide = (belief.scatter / state.scatter) ** 2, (belief.over_spread / state.over_spread) ** 2
    return np.array(
        [
            *(-prior_precision(state, belief) * (state.beta - belief.centre)),
            belief.scatter_jobs * (ratio - 1) + decided,
            belief.share_jobs * (belief.share - state.share),
            -belief.over_centre_rows * state.over_centre / state.over_spread**2,
            belief.over_spread_rows * (wide - 1),
        ]
    )


def polish(
    rows: MixtureRows, belief: Belief, start: MixtureState, decided: float, *, close: float = _CLOSE
) -> tuple[MixtureState, Array]:
    """Finish a good starting point by Newton's method.

    Parameters
    ----------
    rows : MixtureRows
        The log.
    belief : Belief
        What was believed before.
    start : MixtureState
        From `settle` on a part of the rows.
    decided : float
        Number of parameters that the rows decided.
    close : float
        Stop when no log rate moves by more than this share of its standard error.

    Returns
    -------
    State, (k + 4, k + 4) array
        The state, and the curvature at it, for `ascend` and `sandwich`.
    """
    state, k, desk = start, len(start.beta), _desk(rows)
    reach = np.array([_REACH] * k + [0.7, 3.0, 1.0, 0.7])
    for _ in range(_MOST_PASSES):
        scores = _scores(rows, state, desk)
        slope, curve = _with_belief(scores, state, belief, decided)
        step, error = _downhill(slope, curve)
        state = _moved(state, np.clip(step, -reach, reach))
        if np.max(np.abs(step[: k + 1]) / error[: k + 1]) < close:
            break
    return state, curve


def ascend(rows: MixtureRows, belief: Belief, start: MixtureState, curve: Array, decided: float) -> MixtureState | None:
    """Walk to the peak of all rows with the curvature that a part of them told.

    A step leaves as much of the way as the curvature is off, some hundredths, so that two or three passes
    are enough, and a pass without curvature takes half the time.

    Parameters
    ----------
    rows : MixtureRows
        The whole log.
    belief : Belief
        What was believed before.
    start : MixtureState
        Peak of the part.
    curve : (k + 4, k + 4) array
        Curvature of all rows.
    decided : float
        Number of parameters that the rows decided.

    Returns
    -------
    MixtureState or None
        The peak; None when it was not reached in a few passes.
    """
    state, k = start, len(start.beta)
    inverse = np.linalg.inv(curve)
    error = np.sqrt(np.abs(np.diag(inverse)))
    desk = np.empty((k + 7, min(_BLOCK, len(rows.log_min))))
    for _ in range(_FEW_PASSES):
        slope = np.zeros(k + 4)
        for first in range(0, len(rows.log_min), _BLOCK):
            block = MixtureRows(rows.log_min[first : first + _BLOCK], rows.amounts[:, first : first + _BLOCK])
            slope += _block_slope(block, state, desk)
        step = inverse @ (slope + _belief_slope(state, belief, decided))
        state = _moved(state, np.clip(step, -_REACH, _REACH))
        if np.max(np.abs(step[: k + 1]) / error[: k + 1]) < _CLOSE:
            return state
    return None


def _block_slope(rows: MixtureRows, state: MixtureState, desk: Array) -> Array:
    """Sum the slope of one block; every array is a row of ``desk`` and is written in place."""
    k, n = rows.amounts.shape
    desk = desk[:, :n]
    parts, (t, u, weight, odd, spare, total, pull) = desk[:k], desk[k:]
    np.multiply(rows.amounts, np.exp(state.beta)[:, None], out=parts)
    np.sum(parts, axis=0, out=total)
    np.log(total, out=spare)
    np.subtract(rows.log_min, spare, out=spare)  # the residual
    np.multiply(spare, 1 / state.scatter, out=t)
    spare -= state.over_centre
    np.multiply(spare, 1 / state.over_spread, out=u)
    np.multiply(t, t, out=spare)
    np.multiply(u, u, out=odd)
    spare -= odd
    weigh(spare, state, out=weight)
    np.subtract(1.0, weight, out=odd)
    t_weight, u_odd = weight, odd
    odd_sum = float(odd.sum())
    weight *= t
    odd *= u
    scatter_slope = float(t_weight @ t) - (n - odd_sum)
    spread_slope = float(u_odd @ u) - odd_sum
    np.multiply(t_weight, 1 / state.scatter, out=pull)
    np.multiply(u_odd, 1 / state.over_spread, out=spare)
    centre_slope = float(spare.sum())
    pull += spare
    pull /= total
    rates = [float(part @ pull) for part in parts]
    return np.array([*rates, scatter_slope, odd_sum - n * state.share, centre_slope, spread_slope])


def sandwich(part: MixtureRows, state: MixtureState, curve: Array, rows: int) -> Array:
    """Work out the covariance (k, k) of the log rates of a long log.

    The sandwich form holds even when odd rows are not quite of the shape that the model gives them.

    Parameters
    ----------
    part : MixtureRows
        Every so manieth row; some thousands tell the spread of the slopes well enough.
    state : MixtureState
        The peak.
    curve : (k + 4, k + 4) array
        Curvature at the peak, of all rows.
    rows : int
        Number of all rows.
    """
    k, bread = len(state.beta), np.linalg.inv(curve)
    outer = _scores(part, state, _desk(part), outer=True).outer * (rows / len(part.log_min))
    return np.asarray((bread @ outer @ bread)[:k, :k])


def _downhill(slope: Array, curve: Array) -> tuple[Array, Array]:
    """Work out Newton's step, and the standard errors; where the curve bends the wrong way, walk off it."""
    size = np.sqrt(np.abs(np.diag(curve)))
    bend, way = np.linalg.eigh(curve / np.outer(size, size))
    bend = np.maximum(np.abs(bend), 1e-9)
    inverse = (way / bend) @ way.T / np.outer(size, size)
    return inverse @ slope, np.sqrt(np.diag(inverse))


def _moved(state: MixtureState, step: Array) -> MixtureState:
    k = len(state.beta)
    scatter = state.scatter * float(np.exp(step[k]))
    logit = np.log(state.share / (1 - state.share)) + step[k + 1]
    share = min(float(1 / (1 + np.exp(-logit))), 0.49)
    spread = max(state.over_spread * float(np.exp(step[k + 3])), scatter)
    return MixtureState(state.beta + step[:k], scatter, share, state.over_centre + float(step[k + 2]), spread)


def covariance(rows: MixtureRows, belief: Belief, state: MixtureState, decided: float) -> Array:
    """Work out the covariance (k, k) of the log rates of a short log from the curvature at its peak."""
    k = len(state.beta)
    _, curve = _with_belief(_scores(rows, state, _desk(rows)), state, belief, decided)
    if np.linalg.eigvalsh(curve)[0] > 0:
        return np.asarray(np.linalg.inv(curve)[:k, :k])
    seen = read_mixture(rows, state)
    evidence = (seen.parts * seen.weight) @ seen.parts.T / state.scatter**2
    return np.asarray(np.linalg.inv(evidence + np.diag(prior_precision(state, belief))))
