"""A model's sums, remembered: one graph that draws, the spreadsheet and the sum in words are read from.

Takes    the functions of the model as they stand; they are run once on symbols.
Gives    a node for every product and sum they made, in the order they made them. `pricing.costing.tape`
         lays a graph out for a million draws, `pricing.papers.formulas` writes it as formulas of cells,
         `pricing.show.sums` as a sum in words; none of them knows the model.
Safe     a model that needs the numbers themselves (a branch, a sort, a search) has no graph: `Untraceable`
         says so.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import wraps
from math import nan
from typing import Any, NamedTuple, ParamSpec, TypeAlias, TypeVar, Union

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from pricing.basis.checks import Floats

_P = ParamSpec("_P")
_R = TypeVar("_R")
Value: TypeAlias = Union["Symbol", float]
COMPARISONS = frozenset([np.greater, np.greater_equal, np.less, np.less_equal, np.equal, np.not_equal])
WHOLE = 5
"""Rank of a text that needs no brackets anywhere."""


class Untraceable(TypeError):
    """The model looks at the numbers themselves, so its sums cannot be remembered."""


class Graph:
    """Symbols in the order they were made; the same sum made twice is one."""

    def __init__(self) -> None:
        self.nodes: list[Symbol] = []
        self._known: dict[Any, Symbol] = {}
        self._named: dict[str, Symbol] = {}

    def number(self, value: float, name: str = "") -> "Symbol":
        """Return a number that is put in from outside, nan where it is drawn later; one of a name is made once."""
        found = self._named.get(name)
        if found is None:
            found = Symbol(self, None, (), float(value), name)
            if name:
                self._named[name] = found
        return found

    def afresh(self) -> None:
        """Forget which sums were made, so that what is made next stands for itself."""
        self._known.clear()

    def made(self, op: Callable[..., Any], inputs: Sequence[object]) -> Value:
        """Return the symbol of a sum, or what it is simpler.

        Parameters
        ----------
        op : callable
            From numbers or arrays to one, element by element.
        inputs : sequence of Symbol or number
            At least one of them a symbol.

        Raises
        ------
        Untraceable
            An input is neither a number nor a symbol.
        """
        parts = tuple([value if isinstance(value, Symbol) else _plain(value) for value in inputs])
        simpler = _simpler(op, parts) if len(parts) == 2 else None
        if simpler is not None:
            return simpler
        key = (op, *[part.at if isinstance(part, Symbol) else (part,) for part in parts])
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = Symbol(self, op, parts, _value(op, parts))
        return found


class Symbol(NDArrayOperatorsMixin):
    """A number that remembers how it came about; does what arrays do, as far as nobody asks for its numbers.

    Parameters
    ----------
    graph : Graph
        Where it stands.
    op : callable or None
        What made it; None for a number that was put in.
    inputs : tuple of Symbol or float
        Of what.
    value : float
        What it comes to; nan where that is drawn later.
    name : str
        Of a number that was put in.
    """

    ndim = 1
    symbolic = True  # what `pricing.basis.checks.is_symbol` asks for
    __slots__ = ("at", "graph", "inputs", "name", "op", "place", "value")

    def __init__(
        self, graph: Graph, op: Callable[..., Any] | None, inputs: tuple[Value, ...], value: float, name: str = ""
    ) -> None:
        self.graph, self.op, self.inputs, self.value, self.name = graph, op, inputs, value, name
        self.place: Any = None  # where a reader of the graph shows it, so that other sums can point there
        self.at = len(graph.nodes)
        graph.nodes.append(self)

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: object, **options: object) -> Any:
        """Note what was done."""
        if method != "__call__" or options or ufunc.nout != 1:
            raise Untraceable(f"{ufunc.__name__}.{method}")
        if ufunc is np.isnan:
            return np.False_  # what is put in for a symbol is a number
        if ufunc is np.negative:
            return self.graph.made(np.subtract, (0.0, *inputs))
        return self.graph.made(ufunc, inputs)

    def __array_function__(
        self, function: Callable[..., Any], _types: object, inputs: Sequence[Any], options: object
    ) -> Any:
        """Know `numpy.where` and `numpy.ndim`; nothing else is needed by a cost sheet."""
        if function is np.ndim:
            return 1
        if function is np.where and len(inputs) == 3 and not options:
            condition, one, other = inputs
            if not isinstance(condition, Symbol):
                return one if condition else other
            return self.graph.made(where, inputs)
        raise Untraceable(function.__name__)

    def _refuse(self, *_: object, **__: object) -> Any:
        raise Untraceable("the model asks for the numbers themselves")

    __array__ = __float__ = __bool__ = __int__ = __iter__ = __len__ = __getitem__ = _refuse
    __hash__ = object.__hash__


def traceable(function: Callable[_P, _R]) -> Callable[_P, _R]:
    """Let a function, element by element and with positional arguments, stand in a graph as one node."""

    @wraps(function)
    def either(*inputs: _P.args, **options: _P.kwargs) -> _R:
        symbol = next((value for value in inputs if isinstance(value, Symbol)), None)
        if symbol is None:
            return function(*inputs, **options)
        # this function and not the bare one: pickle looks it up by name
        return symbol.graph.made(either, inputs)  # type: ignore[return-value]

    return either


class SymbolBook(Mapping[str, Value]):
    """A book of numbers as a graph sees it.

    Parameters
    ----------
    graph : Graph
        Where symbols are made.
    numbers : mapping of str to float
        What is known.
    is_symbol : callable
        From a key to whether it becomes a symbol.
    """

    def __init__(self, graph: Graph, numbers: Mapping[str, Floats], is_symbol: Callable[[str], bool]) -> None:
        self._graph, self._numbers, self._is_symbol = graph, numbers, is_symbol

    def __getitem__(self, key: str) -> Value:
        if self._is_symbol(key):
            return self._graph.number(self._numbers.get(key, nan), key)  # type: ignore[arg-type]  # no arrays here
        return self._numbers[key]  # type: ignore[return-value]

    def __contains__(self, key: object) -> bool:
        return isinstance(key, str) and (key in self._numbers or self._is_symbol(key))

    def __iter__(self) -> Iterator[str]:
        raise Untraceable("the model lists its book")

    def __len__(self) -> int:
        return len(self._numbers)


class Script(NamedTuple):
    """How a hand writes sums: signs between two, calls around any, and what stands for a number.

    ``signs`` and ``calls`` give a text and its rank (the higher binds tighter), that of a call with ``{0}`` and so on
    in it; ``number`` writes a plain number; ``seen`` a symbol that has a place or a name, and None for one whose own
    sum is to be written. Factors in ``silent`` are not written.
    """

    signs: Mapping[Any, tuple[str, int]]
    calls: Mapping[Any, tuple[str, int]]
    number: Callable[[float], str]
    seen: Callable[[Symbol], str | None]
    silent: frozenset[float] = frozenset()

    def written(self, symbol: Symbol) -> str:
        """Write the sum behind a symbol; evaluation keeps the order of the model, to the last bit.

        Raises
        ------
        TypeError
            The symbol is a number that was put in, or the hand has no word for something in it.
        """
        if symbol.op is None:
            raise TypeError("a number that was put in has no sum behind it")
        return self._sum(symbol)[0]

    def _sum(self, symbol: Symbol) -> tuple[str, int]:
        op, inputs = symbol.op, symbol.inputs
        if op in self.signs:
            sign, rank = self.signs[op]
            one, other = inputs
            if op in {np.multiply, np.divide} and not isinstance(other, Symbol) and other in self.silent:
                return self._shown(one)
            right = self._shown(other)
            if op is np.subtract and not isinstance(one, Symbol) and one == 0.0:
                return f"{sign.strip()}{_bracketed(right, rank + 1)}", rank
            left = _bracketed(self._shown(one), rank + (op is np.power))
            return f"{left}{sign}{_bracketed(right, rank + 1)}", rank
        if op not in self.calls:
            raise TypeError(f"{getattr(op, '__name__', op)} has no formula")
        text, rank = self.calls[op]
        return text.format(*(self._shown(value)[0] for value in inputs)), rank

    def _shown(self, value: Value) -> tuple[str, int]:
        if not isinstance(value, Symbol):
            return self.number(value), WHOLE if value >= 0 else 2
        seen = self.seen(value)
        return self._sum(value) if seen is None else (seen, WHOLE)


def inside(figure: Symbol) -> list[Symbol]:
    """Collect the sums inside a figure (itself left out) that nobody shows yet, in the order they were made."""
    found: dict[int, Symbol] = {}
    wanted = [figure]
    while wanted:
        for part in wanted.pop().inputs:
            if isinstance(part, Symbol) and part.op is not None and part.place is None and part.at not in found:
                found[part.at] = part
                wanted.append(part)
    return [found[at] for at in sorted(found)]


def brief(part: Symbol) -> bool:
    """Tell a sum that is as short as a name for it would be: one number beside a plain one."""
    symbols = [value for value in part.inputs if isinstance(value, Symbol)]
    return len(symbols) < len(part.inputs) and all(one.op is None or one.place is not None for one in symbols)


def where(condition: Floats, one: Floats, other: Floats) -> Floats:
    """Work out one where a condition holds, else the other: `numpy.where` of conditions kept as 1 and 0."""
    return np.where(condition != 0, one, other)


def _bracketed(shown: tuple[str, int], least: int) -> str:
    text, rank = shown
    return text if rank >= least else f"({text})"


def _plain(value: object) -> float:
    if isinstance(value, (int, float, np.number, np.bool_)) or (isinstance(value, np.ndarray) and value.ndim == 0):
        return float(value)
    raise Untraceable(type(value).__name__)


def _value(op: Callable[..., Any], inputs: tuple[Value, ...]) -> float:
    values = []
    for part in inputs:
        value = part.value if isinstance(part, Symbol) else part
        if value != value:  # noqa: PLR0124  nan: drawn later
            return nan
        values.append(value)
    with np.errstate(all="ignore"):
        return float(op(*values))


def _simpler(op: Callable[..., Any], inputs: tuple[Value, ...]) -> Value | None:
    """Leave out what changes nothing: times one, plus nothing."""
    one, other = inputs
    if not isinstance(one, Symbol):
        if (op is np.multiply and one == 1.0) or (op is np.add and one == 0.0):
            return other
        return 0.0 if one == 0.0 and (op is np.multiply or op is np.divide) else None
    if not isinstance(other, Symbol):
        if other == 1.0 and (op is np.multiply or op is np.divide):
            return one
        if other == 0.0 and (op is np.add or op is np.subtract):
            return one
        return 0.0 if other == 0.0 and op is np.multiply else None
    return None
