"""A model made ready to be run on draws: on a tape where that is possible, else as it is."""

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

import numpy as np

from pricing.basis.arrays import Array
from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.costing.draws import BLOCK, Known, Sampler
from pricing.costing.graph import Graph, SymbolBook, Untraceable
from pricing.costing.player import Fill, Player
from pricing.costing.tape import Tape

Model: TypeAlias = Callable[[Mapping[str, Floats]], Floats]
"""From the book to money: a float from numbers, an array from arrays."""

_PROBE_ROWS = 32
_CLOSE = 1e-9


class Plan:
    """A model with what is known of its numbers.

    Parameters
    ----------
    model : callable
        From the book to a cost; called with numbers, with arrays of some thousand rows, or once with
        symbols that are added up beforehand (see `pricing.costing.tape`).
    known : Known
        Assumptions and fixed numbers. Which keys are uncertain and all fixed numbers are built into
        the plan; how uncertain they are is not, so a slider that moves an assumption keeps the plan.
    luck : bool
        False runs without luck: loops take what is to be expected of them.

    Raises
    ------
    BadInput
        The cost is not a finite number at the means.
    """

    def __init__(self, model: Model, known: Known, *, luck: bool = True) -> None:
        self.model, self.known = model, known
        self.point = float(model(known.means()))
        if not np.isfinite(self.point):
            raise BadInput("risk", [Problem("cost", self.point, "a finite number at the means")])
        self._players: list[Player] = []
        sampler = Sampler(known, 0, luck=luck)
        probe = sampler.block(0)
        short = _Short(probe)
        direct = np.broadcast_to(np.asarray(model(short), dtype=np.float64), (_PROBE_ROWS,))
        self.keys: tuple[str, ...] = probe.asked
        """What the model reads and is not certain, in the order it reads."""
        self.tape: Tape | None = None
        try:
            found: object = model(SymbolBook(Graph(), sampler.certain, sampler.is_drawn))  # type: ignore[arg-type]
            self.tape = Tape(found)  # type: ignore[arg-type]  # symbols pass for arrays
        except Untraceable:
            return
        played = Player(self.tape).play(lambda key, out, weight: np.multiply(short[key], weight, out=out), _PROBE_ROWS)
        if not np.allclose(played, direct, rtol=_CLOSE, atol=_CLOSE * abs(self.point)):
            self.tape = None  # the model did something a tape does not see, such as count its calls

    @classmethod
    def of(cls, model: "Model | Plan", known: Known) -> "Plan":
        """Make a plan of a model, or move a plan to what is now known."""
        return model.at(known) if isinstance(model, Plan) else cls(model, known)

    def at(self, known: Known) -> "Plan":
        """Return the plan with assumptions moved; a new one where that is not enough."""
        if known is self.known:
            return self
        if self.known.drawn.keys() != known.drawn.keys() or self.known.sure != known.sure:
            return Plan(self.model, known)
        moved = object.__new__(Plan)
        moved.__dict__.update(self.__dict__)
        moved.known, moved.point = known, float(self.model(known.means()))
        return moved

    def on_blocks(self, sampler: Sampler, first: int, blocks: int) -> Array:
        """Cost some blocks of draws, whole: a (rows,) array. [money]."""
        rows = blocks * BLOCK
        if self.tape is None:
            return self._finite(self.model(sampler.block(first, blocks)), rows)
        draw = sampler.drawn
        return self._finite(
            self._played(lambda key, out, weight: draw(key, first, blocks, out=out, weight=weight), rows), rows
        )

    def on(self, book: Mapping[str, Floats], rows: int) -> Array:
        """Cost any rows of a book: a (rows,) array. [money]."""
        if self.tape is None:
            return self._finite(self.model(book), rows)
        return self._finite(self._played(lambda key, out, weight: np.multiply(book[key], weight, out=out), rows), rows)

    def _played(self, fill: Fill, rows: int) -> Array:
        try:
            player = self._players.pop()  # one for each thread that is at work
        except IndexError:
            player = Player(self.tape)  # type: ignore[arg-type]  # asked only where there is one
        found = player.play(fill, rows).copy()
        self._players.append(player)
        return found

    @staticmethod
    def _finite(cost: Floats, rows: int) -> Array:
        found = np.broadcast_to(np.asarray(cost, dtype=np.float64), (rows,))
        if not np.isfinite(found).all():
            worst = float(found[~np.isfinite(found)][0])
            raise BadInput("risk", [Problem("cost", worst, "a finite number", "Look at the widest assumption.")])
        return found

    def __getstate__(self) -> dict[str, Any]:
        """Travel with the tape alone where there is one: it is small, and needs no shop."""
        state = self.__dict__ | {"_players": []}
        return state | {"model": None} if self.tape is not None else state


class _Short(Mapping[str, Floats]):
    """The first rows of a block."""

    def __init__(self, draws: Mapping[str, Floats]) -> None:
        self._draws = draws

    def __getitem__(self, key: str) -> Floats:
        value = self._draws[key]
        return value if isinstance(value, float) else value[:_PROBE_ROWS]

    def __contains__(self, key: object) -> bool:
        return key in self._draws

    def __iter__(self) -> Any:
        return iter(self._draws)

    def __len__(self) -> int:
        return len(self._draws)
