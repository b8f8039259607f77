"""Run a model once on symbols, then replay its sums on draws.

Takes    a model and the names it may read.
Gives    a tape: the products and steps that are left when everything that is a weighted sum has been
         added up beforehand. A cost sheet of some forty lines comes to about two array operations an
         assumption, where the sheet itself makes twenty.
Why      the functions stay those of the point quote, word for word; only who adds up is changed.
Safe     a model that needs the numbers themselves (a branch, a sort, a search) cannot be put on a tape:
         `Untraceable` says so, and the caller runs it directly. A tape is compared with the model on
         some rows before it is used.
Room     costing. Imports basis.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import wraps
from typing import Any, NamedTuple, ParamSpec, TypeVar

import numpy as np
import numpy.typing as npt
from numpy.lib.mixins import NDArrayOperatorsMixin

from pricing.basis.checks import Floats

Array = npt.NDArray[np.float64]
P = ParamSpec("P")
R = TypeVar("R")


class Untraceable(TypeError):
    """The model looks at the numbers themselves, so its sums cannot be put on a tape."""


class Form(NamedTuple):
    """A weighted sum: a constant, and weights of atoms by their place on the tape."""

    const: float
    terms: tuple[tuple[int, float], ...]


_ONE, _NONE = Form(1.0, ()), Form(0.0, ())
_COMPARISONS = frozenset([np.greater, np.greater_equal, np.less, np.less_equal, np.equal, np.not_equal, np.isnan])


class Atom(NamedTuple):
    """One entry of a tape: a number read by ``name``, or a function of weighted sums."""

    name: str
    function: Callable[..., Any] | None
    forms: tuple[Form, ...]


class Tape:
    """Atoms in the order they can be worked out, and the weighted sum that is the answer.

    Parameters
    ----------
    certain : mapping of str to float
        Numbers that are put in as they are.
    is_drawn : callable
        From a key to whether it is drawn; such keys become atoms.
    """

    def __init__(self, certain: Mapping[str, float], is_drawn: Callable[[str], bool]) -> None:
        self.certain, self.is_drawn = certain, is_drawn
        self.atoms: list[Atom] = []
        self.answer = Form(0.0, ())
        self._known: dict[Atom, int] = {}

    def record(self, model: Callable[[Mapping[str, Floats]], Floats]) -> "Tape":
        """Run the model on symbols.

        Parameters
        ----------
        model : callable
            From a book to a cost.

        Raises
        ------
        Untraceable
            It looks at the numbers themselves.
        """
        found: object = model(_Book(self))  # type: ignore[arg-type]  # symbols pass for arrays
        self.answer = self.gathered(self.form(found))
        return self

    def atom(self, name: str, function: Callable[..., Any] | None, forms: tuple[Form, ...]) -> "Symbol":
        """Give the symbol of an atom, the same for the same atom."""
        return Symbol(self, Form(0.0, ((self._place(Atom(name, function, forms)), 1.0),)))

    def form(self, value: object) -> Form:
        """Give any value as a weighted sum.

        Raises
        ------
        Untraceable
            It is neither a number nor a symbol of this tape.
        """
        if isinstance(value, Symbol):
            return value.form
        if isinstance(value, (int, float, np.number, np.bool_)):
            return Form(float(value), ())
        if isinstance(value, np.ndarray) and value.ndim == 0:
            return Form(float(value), ())
        raise Untraceable(type(value).__name__)

    def times(self, one: Form, other: Form) -> Form:
        """Multiply two weighted sums; what is a plain factor is drawn to the front."""
        if not one.terms:
            return _scaled(other, one.const)
        if not other.terms:
            return _scaled(one, other.const)
        (a, one), (b, other) = _lone(one), _lone(other)
        first, second = sorted((one, other))
        place = self._place(Atom("", np.multiply, (first, second)))
        return Form(0.0, ((place, a * b),))

    def gathered(self, form: Form) -> Form:
        """Take common factors out of a sum of products: a b + c b is (a + c) b, one product for two."""
        terms = dict(form.terms)
        while True:
            by_factor: dict[Form, list[int]] = {}
            for place in terms:
                atom = self.atoms[place]
                if atom.function is np.multiply:
                    for factor in set(atom.forms):
                        by_factor.setdefault(factor, []).append(place)
            factor, places = max(by_factor.items(), key=lambda item: len(item[1]), default=(form, []))
            if len(places) < 2:
                return Form(form.const, tuple(sorted(terms.items())))
            rest = Form(0.0, ())
            for place in places:
                one, other = self.atoms[place].forms
                rest = _sum(rest, _scaled(other if one == factor else one, terms.pop(place)))
            form = _sum(Form(form.const, tuple(sorted(terms.items()))), self.times(self.gathered(rest), factor))
            terms = dict(form.terms)

    def _place(self, atom: Atom) -> int:
        found = self._known.get(atom)
        if found is None:
            found = self._known[atom] = len(self.atoms)
            self.atoms.append(atom)
        return found


class Symbol(NDArrayOperatorsMixin):
    """A value on a tape; does what arrays do, as far as nobody asks for its numbers."""

    ndim = 1
    symbolic = True  # what `pricing.basis.checks.is_symbol` asks for

    def __init__(self, tape: Tape, form: Form) -> None:
        self.tape, self.form = tape, form

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: object, **options: object) -> "Symbol":
        """Add up weighted sums at once; make an atom of everything else."""
        if method != "__call__" or options or ufunc.nout != 1:
            raise Untraceable(f"{ufunc.__name__}.{method}")
        tape = self.tape
        forms = tuple(tape.form(value) for value in inputs)
        match ufunc, forms:
            case np.add, (one, other):
                return Symbol(tape, _sum(one, other))
            case np.subtract, (one, other):
                return Symbol(tape, _sum(one, _scaled(other, -1.0)))
            case np.negative, (one,):
                return Symbol(tape, _scaled(one, -1.0))
            case np.multiply, (one, other):
                return Symbol(tape, tape.times(one, other))
            case np.divide, (one, Form(const, ())):
                return Symbol(tape, _scaled(one, 1.0 / const))
            case np.divide, (one, other):
                inverse = tape.atom("", np.reciprocal, (other,)).form
                return Symbol(tape, tape.times(one, inverse))
        return tape.atom("", ufunc, forms)

    def __array_function__(
        self, function: Callable[..., Any], _types: object, inputs: Sequence[object], options: object
    ) -> Any:
        """Know `numpy.where` and `numpy.ndim`; nothing else is needed by a cost sheet."""
        if function is np.ndim:
            return 1
        if function is np.where and len(inputs) == 3 and not options:
            condition, one, other = (self.tape.form(value) for value in inputs)
            if (one, other) == (_ONE, _NONE) and self._is_truth(condition):
                return Symbol(self.tape, condition)  # a comparison is kept as 1 or 0 already
            return self.tape.atom("", _where, (condition, one, other))
        raise Untraceable(function.__name__)

    def _is_truth(self, form: Form) -> bool:
        if form.const != 0.0 or len(form.terms) != 1 or form.terms[0][1] != 1.0:
            return False
        return self.tape.atoms[form.terms[0][0]].function in _COMPARISONS

    def _refuse(self, *_: object, **__: object) -> Any:
        raise Untraceable("the model asks for the numbers themselves")

    __array__ = __float__ = __bool__ = __int__ = __iter__ = __len__ = __getitem__ = _refuse
    __hash__ = object.__hash__


def traceable(function: Callable[P, R]) -> Callable[P, R]:
    """Let a function of numbers or arrays stand on a tape as one atom.

    Parameters
    ----------
    function : callable
        Element by element, with positional arguments.
    """

    @wraps(function)
    def either(*inputs: P.args, **options: P.kwargs) -> R:
        symbol = next((value for value in inputs if isinstance(value, Symbol)), None)
        if symbol is None:
            return function(*inputs, **options)
        tape = symbol.tape
        # this function and not the bare one: pickle looks it up by name
        return tape.atom("", either, tuple(tape.form(value) for value in inputs))  # type: ignore[return-value]

    return either


class _Book(Mapping[str, "Symbol | float"]):
    """The book as the tape sees it."""

    def __init__(self, tape: Tape) -> None:
        self._tape = tape

    def __getitem__(self, key: str) -> "Symbol | float":
        if self._tape.is_drawn(key):
            return self._tape.atom(key, None, ())
        return self._tape.certain[key]

    def __contains__(self, key: object) -> bool:
        return isinstance(key, str) and (self._tape.is_drawn(key) or key in self._tape.certain)

    def __iter__(self) -> Iterator[str]:
        raise Untraceable("the model lists its book")

    def __len__(self) -> int:
        return len(self._tape.certain)


def _where(condition: Array, one: Floats, other: Floats) -> Array:
    return np.where(condition != 0, one, other)


def _scaled(form: Form, weight: float) -> Form:
    if weight == 0.0:
        return Form(0.0, ())
    return Form(form.const * weight, tuple((place, w * weight) for place, w in form.terms))


def _sum(one: Form, other: Form) -> Form:
    terms = dict(one.terms)
    for place, weight in other.terms:
        terms[place] = terms.get(place, 0.0) + weight
    return Form(one.const + other.const, tuple(sorted(item for item in terms.items() if item[1] != 0.0)))


def _lone(form: Form) -> tuple[float, Form]:
    """Split a single weighted atom into its weight and the bare atom, so that like products meet."""
    if form.const == 0.0 and len(form.terms) == 1:
        return form.terms[0][1], Form(0.0, ((form.terms[0][0], 1.0),))
    return 1.0, form
