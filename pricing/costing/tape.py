"""A graph laid out for a million draws: the products and steps that are left when sums are added up beforehand.

Takes    what a model gave when it was run on symbols.
Gives    a tape. A cost sheet of some forty lines comes to about two array operations an assumption, where
         the sheet itself makes twenty.
Safe     a tape is compared with the model on some rows before it is used (`pricing.costing.plan`).
"""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from pricing.costing.graph import COMPARISONS, Symbol, Value, where


class TapeForm(NamedTuple):
    """A weighted sum: a constant, and weights of atoms by their place on the tape."""

    const: float
    terms: tuple[tuple[int, float], ...]


_ONE, _NONE = TapeForm(1.0, ()), TapeForm(0.0, ())


class Atom(NamedTuple):
    """One entry of a tape: a number read by ``name``, or a function of weighted sums."""

    name: str
    function: Callable[..., Any] | None
    forms: tuple[TapeForm, ...]


class Tape:
    """Atoms in the order they can be worked out, and the weighted sum that is the answer.

    Parameters
    ----------
    answer : Symbol or float
        What the model gave; the tape keeps nothing of its graph, and travels without it.
    """

    def __init__(self, answer: Value) -> None:
        self.atoms: list[Atom] = []
        self._known: dict[Atom, int] = {}
        forms: dict[int, TapeForm] = {}
        for node in answer.graph.nodes if isinstance(answer, Symbol) else ():
            forms[node.at] = self._form(node, tuple([_form(value, forms) for value in node.inputs]))
        self.answer = self._gathered(_form(answer, forms))

    def _form(self, node: Symbol, forms: tuple[TapeForm, ...]) -> TapeForm:
        """Add up weighted sums at once; make an atom of everything else."""
        match node.op, forms:
            case np.add, (one, other):
                return _sum(one, other)
            case np.subtract, (one, other):
                return _sum(one, _scaled(other, -1.0))
            case np.multiply, (one, other):
                return self._times(one, other)
            case np.divide, (one, TapeForm(const, ())):
                return _scaled(one, 1.0 / const)
            case np.divide, (one, other):
                return self._times(one, self._atom("", np.reciprocal, (other,)))
        if node.op is where and forms[1:] == (_ONE, _NONE) and self._is_truth(forms[0]):
            return forms[0]  # a comparison is kept as 1 or 0 already
        return self._atom(node.name, node.op, forms)

    def _atom(self, name: str, function: Callable[..., Any] | None, forms: tuple[TapeForm, ...]) -> TapeForm:
        """Return an atom as a sum, the same for the same atom."""
        atom = Atom(name, function, forms)
        place = self._known.setdefault(atom, len(self.atoms))
        if place == len(self.atoms):
            self.atoms.append(atom)
        return TapeForm(0.0, ((place, 1.0),))

    def _times(self, one: TapeForm, other: TapeForm) -> TapeForm:
        """Multiply two weighted sums; what is a plain factor is drawn to the front."""
        if not one.terms:
            return _scaled(other, one.const)
        if not other.terms:
            return _scaled(one, other.const)
        (a, one), (b, other) = _lone(one), _lone(other)
        first, second = sorted((one, other))
        return _scaled(self._atom("", np.multiply, (first, second)), a * b)

    def _gathered(self, form: TapeForm) -> TapeForm:
        """Take common factors out of a sum of products: a b + c b is (a + c) b, one product for two."""
        terms = dict(form.terms)
        while True:
            by_factor: dict[TapeForm, list[int]] = {}
            for place in terms:
                atom = self.atoms[place]
                if atom.function is np.multiply:
                    for factor in set(atom.forms):
                        by_factor.setdefault(factor, []).append(place)
            factor, places = max(by_factor.items(), key=lambda item: len(item[1]), default=(form, []))
            if len(places) < 2:
                return TapeForm(form.const, tuple(sorted(terms.items())))
            rest = TapeForm(0.0, ())
            for place in places:
                one, other = self.atoms[place].forms
                rest = _sum(rest, _scaled(other if one == factor else one, terms.pop(place)))
            form = _sum(TapeForm(form.const, tuple(sorted(terms.items()))), self._times(self._gathered(rest), factor))
            terms = dict(form.terms)

    def _is_truth(self, form: TapeForm) -> bool:
        if form.const != 0.0 or len(form.terms) != 1 or form.terms[0][1] != 1.0:
            return False
        return self.atoms[form.terms[0][0]].function in COMPARISONS


def _form(value: object, forms: dict[int, TapeForm]) -> TapeForm:
    return forms[value.at] if isinstance(value, Symbol) else TapeForm(float(value), ())  # type: ignore[arg-type]


def _scaled(form: TapeForm, weight: float) -> TapeForm:
    if weight == 0.0:
        return TapeForm(0.0, ())
    return TapeForm(form.const * weight, tuple((place, w * weight) for place, w in form.terms))


def _sum(one: TapeForm, other: TapeForm) -> TapeForm:
    terms = dict(one.terms)
    for place, weight in other.terms:
        terms[place] = terms.get(place, 0.0) + weight
    return TapeForm(one.const + other.const, tuple(sorted(item for item in terms.items() if item[1] != 0.0)))


def _lone(form: TapeForm) -> tuple[float, TapeForm]:
    """Split a single weighted atom into its weight and the bare atom, so that like products meet."""
    if form.const == 0.0 and len(form.terms) == 1:
        return form.terms[0][1], TapeForm(0.0, ((form.terms[0][0], 1.0),))
    return 1.0, form
