"""Plays a tape on rows: registers that stay in cache, each number drawn just before it is added.

Takes    a tape, and a way to fill a register with the draws of a key.
Gives    the answer, row by row.
"""

from collections import Counter
from collections.abc import Callable
from typing import Any, NamedTuple, TypeAlias

import numpy as np

from pricing.basis.arrays import Array
from pricing.costing.tape import Tape, TapeForm

Fill: TypeAlias = Callable[[str, Array, float], object]
"""Fills an array with the numbers of a key, times a weight."""


class _Draw(NamedTuple):
    into: int
    name: str
    weight: float


class _Call(NamedTuple):
    """``into = function(*values)``; a value is a register or a plain number."""

    into: int
    function: Callable[..., Any]
    values: tuple[int | float, ...]


class _Into:
    """A function that is not NumPy's, made to fill an array as NumPy's do."""

    def __init__(self, function: Callable[..., Any]) -> None:
        self._function = function

    def __call__(self, *values: Any, out: Array) -> None:
        out[:] = self._function(*values)


class Player:
    """A tape as a list of instructions on registers.

    Parameters
    ----------
    tape : Tape
        What is played.

    Notes
    -----
    Sums are added up as their terms come in, so a number that is used once never waits; its weight is
    put on while it is drawn, which costs nothing. Registers are kept from call to call: one thread has
    one player.
    """

    def __init__(self, tape: Tape) -> None:
        self._atoms = tape.atoms
        self._code: list[_Draw | _Call] = []
        self._spare: list[int] = []
        self._count = 0
        self._at: dict[int, int] = {}
        self._left = self._uses(tape.answer)
        self._answer = self._sum(tape.answer) if tape.answer.terms else None
        self._const = tape.answer.const
        self._registers: list[Array] = []
        self._rows = -1
        self._bound: list[tuple[Callable[..., Any] | None, tuple[Any, ...], Array]] = []

    def play(self, fill: Fill, rows: int) -> Array:
        """Work out the answer, a (rows,) array in a register: copy it before the next call."""
        if self._answer is None:
            return np.full(rows, self._const)
        if self._rows != rows:
            self._bind(rows)
        for function, values, into in self._bound:
            if function is None:
                fill(values[0], into, values[1])
            else:
                function(*values, out=into)
        return self._registers[self._answer]

    def _bind(self, rows: int) -> None:
        """Put arrays in the place of register numbers, so that playing is calls and nothing else."""
        self._rows = rows
        at = self._registers = [np.empty(rows) for _ in range(self._count)]
        self._bound = []
        for step in self._code:
            if isinstance(step, _Draw):
                self._bound.append((None, (step.name, step.weight), at[step.into]))
            else:
                function = step.function if isinstance(step.function, np.ufunc) else _Into(step.function)
                values = tuple(value if isinstance(value, float) else at[value] for value in step.values)
                self._bound.append((function, values, at[step.into]))

    def _uses(self, answer: TapeForm) -> Counter[int]:
        """Count how often each atom that is needed stands in a sum."""
        found: Counter[int] = Counter()
        wanted = [answer]
        while wanted:
            for place, _ in wanted.pop().terms:
                found[place] += 1
                if found[place] == 1:
                    wanted += self._atoms[place].forms
        return found

    def _new(self) -> int:
        if self._spare:
            return self._spare.pop()
        self._count += 1
        return self._count - 1

    def _call(self, into: int, function: Callable[..., Any], *values: int | float) -> None:  # noqa: PYI041  registers are ints
        self._code.append(_Call(into, function, values))

    def _need(self, place: int) -> int:
        """Work out the register of an atom, worked out now if it was not before."""
        if place in self._at:
            return self._at[place]
        atom = self._atoms[place]
        if atom.function is None:
            into = self._new()
            self._code.append(_Draw(into, atom.name, 1.0))
        else:
            values, own, borrowed = self._values(atom.forms)
            into = own.pop() if own else self._new()
            self._call(into, atom.function, *values)
            self._spare += own
            for other in borrowed:
                self._used(other)
        self._at[place] = into
        return into

    def _values(self, forms: tuple[TapeForm, ...]) -> tuple[list[int | float], list[int], list[int]]:
        """Work out what a function is called with, registers of its own, and atoms it reads."""
        values: list[int | float] = []
        own: list[int] = []
        borrowed: list[int] = []
        for form in forms:
            if not form.terms:
                values.append(float(form.const))
            elif form.const == 0.0 and len(form.terms) == 1 and form.terms[0][1] == 1.0:
                values.append(self._need(form.terms[0][0]))
                borrowed.append(form.terms[0][0])
            else:
                register = self._sum(form)
                values.append(register)
                own.append(register)
        return values, own, borrowed

    def _used(self, place: int) -> None:
        self._left[place] -= 1
        if not self._left[place]:
            self._spare.append(self._at.pop(place))

    def _sum(self, form: TapeForm) -> int:
        """Add up a weighted sum in a register of its own: what must be worked out first, then plain draws."""
        into: int | None = None
        for place, weight in sorted(form.terms, key=lambda term: self._fresh(term[0])):
            if self._fresh(place):
                register, weight_left, own = self._new(), 1.0, True
                self._code.append(_Draw(register, self._atoms[place].name, weight))
                self._left[place] = 0
            else:
                register, weight_left = self._need(place), weight
                own = self._left[place] == 1
                self._left[place] -= 1
                if own:
                    del self._at[place]
            into = self._added(into, register, weight_left, own=own)
        if into is None:
            raise ValueError("a sum without terms has no register")
        if form.const != 0.0:
            self._call(into, np.add, into, float(form.const))
        return into

    def _fresh(self, place: int) -> bool:
        """Tell a number that is drawn for this sum alone."""
        return self._atoms[place].function is None and place not in self._at and self._left[place] == 1

    def _added(self, into: int | None, register: int, weight: float, *, own: bool) -> int:
        """Add a weighted register to the sum, and give it free if nobody else reads it."""
        if into is None:
            into = register if own else self._new()
            if weight != 1.0 or not own:
                self._call(into, np.multiply, register, float(weight))
            return into
        if weight == 1.0:
            self._call(into, np.add, into, register)
        else:
            scaled = register if own else self._new()
            self._call(scaled, np.multiply, register, float(weight))
            self._call(into, np.add, into, scaled)
            if not own:
                self._spare.append(scaled)
        if own:
            self._spare.append(register)
        return into
