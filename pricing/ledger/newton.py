"""Newton's method on the model of `pricing.ledger.mixture`, for a log of any length.

Takes    rows, belief, and a good starting point.
Gives    the peak of the plausibility and the covariance of the log rates at it.
Why      near the peak a step squares the error. A million rows start from the peak of some thousand,
         with the curvature found there, and need two or three passes; a pass goes block by block
         through the processor's cache.
"""

from collections.abc import Iterator

import numpy as np

from pricing.basis.arrays import Array
from pricing.ledger.mixture import Belief, MixtureRows, MixtureState, Read, prior_precision, read_mixture

_CLOSE = 0.1  # of a standard error; what is left after the step is far less
_FEW_PASSES = 8
_MOST_PASSES = 100
_REACH = 1.0  # a log rate moves at most by this in one pass


_BLOCK = 7_000  # rows whose columns stay in the processor's cache, and whose sums a BLAS does in one thread


def _blocks(rows: MixtureRows, state: MixtureState) -> Iterator[Read]:
    for first in range(0, len(rows.log_min), _BLOCK):
        some = slice(first, first + _BLOCK)
        yield read_mixture(MixtureRows(rows.log_min[some], rows.amounts[:, some]), state)


def _slope(seen: Read, state: MixtureState) -> Array:
    """Slope (k + 4,) of the log likelihood; order: log rates, log scatter, logit share, centre, log spread."""
    odd, n = 1 - seen.weight, len(seen.weight)
    work_t, odd_u, count = seen.weight * seen.t, odd * seen.u, float(odd.sum())
    by_rate = seen.parts @ (work_t * (1 / state.scatter) + odd_u * (1 / state.over_spread))
    by_centre = odd_u.sum() / state.over_spread
    return np.array([*by_rate, work_t @ seen.t - n + count, count - n * state.share, by_centre, odd_u @ seen.u - count])


def _slopes(seen: Read, state: MixtureState) -> Array:
    """Slopes (k + 4, n) of each row's log density, whose sum is `_slope`."""
    odd = 1 - seen.weight
    work_t, by_centre = seen.weight * seen.t, odd * seen.u / state.over_spread
    by_rate = seen.parts * (work_t / state.scatter + by_centre)
    return np.vstack([by_rate, work_t * seen.t - seen.weight, odd - state.share, by_centre, odd * (seen.u**2 - 1)])


def _curvature(seen: Read, state: MixtureState) -> Array:
    """Curvature (k + 4, k + 4) of minus the log likelihood: each kind's own, less that of not knowing the kind."""
    parts, work, t, u = seen[1:]
    odd, k, pull, push = 1 - work, len(parts), t * (1 / state.scatter), u * (1 / state.over_spread)
    apart = np.vstack([parts * (pull - push), t * t - 1, np.full_like(t, -1.0), -push, 1 - u * u])
    curve = -(apart * (work * odd)) @ apart.T
    precise = odd * (1 / state.over_spread**2)
    curve[:k, :k] += (parts * (work * (1 / state.scatter**2) + precise)) @ parts.T
    others = [k, k + 2, k + 3]
    cross = parts @ np.stack([2 * work * pull, precise, 2 * odd * push]).T
    curve[:k, others] += cross
    curve[others, :k] += cross.T
    certain = len(t) * state.share * (1 - state.share)
    curve[range(k, k + 4), range(k, k + 4)] += [2 * work @ t**2, certain, precise.sum(), 2 * odd @ u**2]
    curve[[k + 2, k + 3], [k + 3, k + 2]] += 2 * float(odd @ push)
    return curve


def _scores(rows: MixtureRows, state: MixtureState) -> tuple[Array, Array]:
    """Slope (k + 4,) of the log likelihood about a state, and its curvature."""
    found = [(_slope(seen, state), _curvature(seen, state)) for seen in _blocks(rows, state)]
    slopes, curves = zip(*found, strict=True)
    return np.sum(slopes, axis=0), np.sum(curves, axis=0)


def _belief_curvature(state: MixtureState, belief: Belief) -> Array:
    """Curvature (k + 4,) that the belief adds to each parameter's own."""
    return np.array(
        [
            *prior_precision(state, belief),
            2 * belief.scatter_jobs * (belief.scatter / state.scatter) ** 2,
            belief.share_jobs * state.share * (1 - state.share),
            belief.over_centre_rows / state.over_spread**2,
            2 * belief.over_spread_rows * (belief.over_spread / state.over_spread) ** 2,
        ]
    )


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
    """Finish a state, from `settle` on a part of the rows, by Newton's method; given with the curvature at it.

    ``decided`` is the number of parameters that the rows decided. It ends when no log rate moves by more than
    ``close`` of its standard error.
    """
    state, k = start, len(start.beta)
    reach = np.array([_REACH] * k + [0.7, 3.0, 1.0, 0.7])
    for _ in range(_MOST_PASSES):
        slope, curve = _scores(rows, state)
        curve += np.diag(_belief_curvature(state, belief))
        step, error = _downhill(slope + _belief_slope(state, belief, decided), curve)
        state = _moved(state, np.clip(step, -reach, reach))
        if np.max(np.abs(step[: k + 1]) / error[: k + 1]) < close:
            break
    return state, curve


def ascend(rows: MixtureRows, belief: Belief, start: MixtureState, curve: Array, decided: float) -> MixtureState | None:
    """Walk to the peak of all rows with the curvature that a part of them told; None when a few passes do not reach it.

    A step leaves as much of the way as the curvature is off, some hundredths, so that two or three passes
    are enough, and a pass without curvature takes half the time.
    """
    state, k = start, len(start.beta)
    inverse = np.linalg.inv(curve)
    error = np.sqrt(np.abs(np.diag(inverse)))
    for _ in range(_FEW_PASSES):
        slopes = [_slope(seen, state) for seen in _blocks(rows, state)]
        step = inverse @ (np.sum(slopes, axis=0) + _belief_slope(state, belief, decided))
        state = _moved(state, np.clip(step, -_REACH, _REACH))
        if np.max(np.abs(step[: k + 1]) / error[: k + 1]) < _CLOSE:
            return state
    return None


def sandwich(part: MixtureRows, state: MixtureState, curve: Array, rows: int) -> Array:
    """Work out the covariance (k, k) of the log rates at the peak of a long log, from its curvature there.

    The sandwich form holds even when odd rows are not quite of the shape that the model gives them.
    """
    k, bread = len(state.beta), np.linalg.inv(curve)
    each = np.hstack([_slopes(seen, state) for seen in _blocks(part, state)])
    outer = each @ each.T * (rows / len(part.log_min))
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


def covariance(rows: MixtureRows, belief: Belief, state: MixtureState) -> Array:
    """Work out the covariance (k, k) of the log rates of a short log from the curvature at its peak."""
    k = len(state.beta)
    curve = _scores(rows, state)[1] + np.diag(_belief_curvature(state, belief))
    if np.linalg.eigvalsh(curve)[0] > 0:
        return np.asarray(np.linalg.inv(curve)[:k, :k])
    seen = read_mixture(rows, state)
    evidence = (seen.parts * seen.weight) @ seen.parts.T / state.scatter**2
    return np.asarray(np.linalg.inv(evidence + np.diag(prior_precision(state, belief))))
