"""A log of a million rows: every step fitted from columns, without a record per row.

Takes    columns: step of each row as a number, minutes, amounts.
Gives    a `StepFit` for each step, the same as `fit_step` gives.
Room     ledger. Imports basis, fit.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem
from pricing.ledger.fit import Assumptions, Guess, StepFit, assumptions, fit_step
from pricing.ledger.mixture import Array


def fit_many(
    steps: npt.NDArray[np.integer], minutes: Array, amounts: Array, guesses: Sequence[Sequence[Guess]],
    *, take: Assumptions | None = None,
) -> list[StepFit]:  # fmt: skip
    """Fit every step of a table.

    Parameters
    ----------
    steps : (n,) array of int
        Step of each row, 0 to ``len(guesses) - 1``.
    minutes : (n,) array
        What each row took.
    amounts : (n, k) array
        Amounts; a step with fewer drivers uses the first columns.
    guesses : sequence of sequence of Guess
        What was believed before, by step and driver.
    take : Assumptions, optional
        Instead of those in the facts table.

    Returns
    -------
    list of StepFit
        By step.

    Raises
    ------
    BadInput
        A step has no guesses, or as `fit_step`.

    Examples
    --------
    >>> guess = [[Guess("job", 5.0, 10.0, 20.0)], [Guess("job", 1.0, 2.0, 4.0)]]
    >>> fits = fit_many(np.array([0, 1, 0, 1]), np.array([11.0, 2.0, 9.0, 2.2]), np.ones((4, 1)), guess)
    >>> [fit.rows for fit in fits]
    [2, 2]
    """
    if len(steps) and not 0 <= int(steps.min()) <= int(steps.max()) < len(guesses):
        wrong = int(steps.max()) if int(steps.max()) >= len(guesses) else int(steps.min())
        raise BadInput("a calibration", [Problem("step", wrong, f"from 0 to {len(guesses) - 1}")])
    small = np.uint8 if len(guesses) <= 256 else np.uint16  # a radix sort, one pass a byte
    order = np.argsort(steps.astype(small), kind="stable")
    minutes, amounts = np.take(minutes, order), np.take(amounts, order, axis=0)
    ends = np.cumsum([0, *np.bincount(steps, minlength=len(guesses))])
    take = take or assumptions()
    return [
        fit_step(minutes[first:last], amounts[first:last, : len(mine)], mine, take=take)
        for mine, first, last in zip(guesses, ends[:-1], ends[1:], strict=True)
    ]
