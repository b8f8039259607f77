"""Risk of many jobs on any executor: threads or processes.

Takes    models by job, and whatever has the ``submit`` of `concurrent.futures.Executor`. A model that can
         be put on a tape travels as the tape; any other must be able to travel itself: a module's function,
         or `functools.partial` of one; not a lambda.
Gives    the same answers to the bit as without an executor: each piece of work is a run of blocks
         that begins at its own place of the streams.
"""

from collections.abc import Generator, Mapping
from concurrent.futures import Executor, Future, as_completed
from typing import NamedTuple

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.errors import BadInput
from pricing.costing.draws import BLOCK, Known, Sampler
from pricing.costing.plan import Model, Plan
from pricing.costing.risk import Risk, progress_bar

PIECE_BLOCKS = 8
"""Blocks of one piece of work: 65,536 draws, some milliseconds to tens of them."""


class Answers(NamedTuple):
    """Risk by job, what was refused and why, and whether the run came to its end."""

    risks: dict[str, Risk]
    refused: dict[str, BadInput]
    complete: bool


class _Piece(NamedTuple):
    job: str
    first: int
    blocks: int


def risk_of_many(
    models: Mapping[str, Model | Plan],
    known: Known,
    *,
    seed: int,
    draws: int = 65_536,
    executor: Executor | None = None,
    progress: bool = False,
) -> Answers:
    """Run many models on the same seeded draws.

    Parameters
    ----------
    models : mapping of str to callable
        Model by job, as in `pricing.costing.risk.plan_risk`.
    known : Known
        Assumptions and fixed numbers.
    seed : int
        Same seed, same answer to the bit, whatever the executor.
    draws : int
        Draws of each job.
    executor : Executor, optional
        Where pieces of work are submitted; none computes here, one after the other.
    progress : bool
        Show a bar. Ctrl-C ends the run and keeps the pieces that are done: a job with some of its pieces has
        fewer draws and says that it is not complete.

    Returns
    -------
    Answers
        A job that cannot be costed stands in ``refused`` and does not hold up the others.

    Raises
    ------
    BadInput
        The seed or the number of draws is off.
    """
    Sampler(known, seed)  # tells a bad seed before any work is handed out
    blocks = -(-draws // BLOCK)
    pieces = [
        _Piece(job, first, min(PIECE_BLOCKS, blocks - first))
        for job in models
        for first in range(0, blocks, PIECE_BLOCKS)
    ]
    done: dict[_Piece, Array] = {}
    refused: dict[str, BadInput] = {}
    plans: dict[str, Plan] = {}
    for job, model in models.items():
        try:
            plans[job] = Plan.of(model, known)
        except BadInput as why:
            refused[job] = why
    pieces = [piece for piece in pieces if piece.job in plans]
    ran = _here(plans, known, seed, pieces) if executor is None else _there(plans, known, seed, pieces, executor)
    with progress_bar(len(pieces), shown=progress, unit="piece") as step:
        try:
            for piece, found in ran:
                if isinstance(found, BadInput):
                    refused.setdefault(piece.job, found)
                else:
                    done[piece] = found
                step(1)
        except KeyboardInterrupt:
            pass  # what was computed stands
        finally:
            ran.close()
    risks = {}
    for job, plan in plans.items():
        mine = [done[piece] for piece in pieces if piece.job == job and piece in done]
        if job not in refused and mine:
            costs = np.concatenate(mine)[:draws]
            risks[job] = Risk(costs, plan.point, draws, seed)
    whole = len(risks) + len(refused) == len(models) and all(risk.complete for risk in risks.values())
    return Answers(risks, refused, whole)


Ran = Generator[tuple[_Piece, "Array | BadInput"], None, None]


def run_piece(plan: Plan, known: Known, seed: int, first: int, blocks: int) -> "Array | BadInput":
    """Work out the costs of one piece [money], or why there are none; it stands in a module, so that it can travel."""
    sampler = Sampler(known, seed)
    try:
        return np.concatenate([plan.on_blocks(sampler, block, 1) for block in range(first, first + blocks)])
    except BadInput as why:
        return why


def _here(plans: Mapping[str, Plan], known: Known, seed: int, pieces: list[_Piece]) -> Ran:
    for piece in pieces:
        yield piece, run_piece(plans[piece.job], known, seed, piece.first, piece.blocks)


def _there(plans: Mapping[str, Plan], known: Known, seed: int, pieces: list[_Piece], executor: Executor) -> Ran:
    sent: dict[Future[Array | BadInput], _Piece] = {}
    try:
        for piece in pieces:
            sent[executor.submit(run_piece, plans[piece.job], known, seed, piece.first, piece.blocks)] = piece
        for future in as_completed(sent):
            yield sent[future], future.result()
    finally:
        for future in sent:
            future.cancel()
