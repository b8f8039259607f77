"""Sums written from the graph: Python reads them back to the value that the model worked out."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.costing.graph import WHOLE, Graph, Script, brief, inside

SIGNS: dict[Any, tuple[str, int]] = {
    np.add: (" + ", 1),
    np.subtract: (" - ", 1),
    np.multiply: (" * ", 2),
    np.divide: (" / ", 2),
    np.power: (" ** ", 4),
}
CALLS: dict[Any, tuple[str, int]] = {np.maximum: ("max({0}, {1})", WHOLE), np.minimum: ("min({0}, {1})", WHOLE)}
NAMED = {"a": 1.5, "b": -2.25, "c": 0.375}
SCRIPT = Script(SIGNS, CALLS, repr, lambda symbol: symbol.name or None)

leaves = st.sampled_from([*NAMED, 0.0, 2.0, -3.0])
sums = st.recursive(leaves, lambda part: st.tuples(st.sampled_from([*list(SIGNS)[:4], *CALLS]), part, part))


def _built(graph: Graph, tree: Any) -> Any:
    if isinstance(tree, tuple):
        op, one, other = tree
        return op(_built(graph, one), _built(graph, other))
    return graph.number(NAMED[tree], tree) if isinstance(tree, str) else tree


@settings(max_examples=60)
@given(tree=sums)
def test_python_reads_a_written_sum_back_to_its_value(tree: Any) -> None:
    with np.errstate(all="ignore"):
        figure = _built(Graph(), tree)
    if getattr(figure, "op", None) is None or not np.isfinite(figure.value):
        return
    assert eval(SCRIPT.written(figure), {**NAMED, "max": max, "min": min}) == pytest.approx(figure.value)  # noqa: S307


def test_signs_and_powers_get_the_brackets_they_need_and_no_more() -> None:
    graph = Graph()
    a, b, c = (graph.number(value, name) for name, value in NAMED.items())
    assert SCRIPT.written(a - (b - c)) == "a - (b - c)"
    assert SCRIPT.written(a - b - c) == "a - b - c"
    assert SCRIPT.written(0.0 - (a + b)) == "-(a + b)"
    assert SCRIPT.written((0.0 - a) * b) == "(-a) * b"
    assert SCRIPT.written((a**b) ** c) == "(a ** b) ** c"
    quiet = SCRIPT._replace(silent=frozenset({60.0}))
    assert quiet.written(a * b / 60.0) == "a * b"
    assert quiet.written(a * b + 60.0) == "a * b + 60.0"
    with pytest.raises(TypeError, match="put in"):
        SCRIPT.written(a)


def test_what_changes_nothing_is_left_out_and_nothing_else() -> None:
    graph = Graph()
    a, b = graph.number(1.5, "a"), graph.number(-2.0, "b")
    for same in (a * 1.0, 1.0 * a, a / 1.0, a + 0.0, 0.0 + a, a - 0.0):
        assert same is a
    for none in (a * 0.0, 0.0 * a, 0.0 / a):
        assert isinstance(none, float)
        assert none == 0.0
    sums = {"0 - a": 0.0 - a, "1 / a": 1.0 / a, "1 + a": 1.0 + a, "a - 1": a - 1.0, "a * 2": a * 2.0, "1 - a": 1.0 - a}
    values = {"0 - a": -1.5, "1 / a": 1 / 1.5, "1 + a": 2.5, "a - 1": 0.5, "a * 2": 3.0, "1 - a": -0.5}
    assert {name: figure.value for name, figure in sums.items()} == values
    assert len({figure.at for figure in sums.values()}) == len(sums)
    assert (a * b) is (a * b)
    kept = a * b
    graph.afresh()
    assert (a * b) is not kept
    assert (-a).value == -1.5
    assert graph.number(9.0, "a") is a
    assert graph.number(9.0) is not graph.number(9.0)
    assert np.where(a > b, a, b).value == 1.5
    assert np.where(a < b, a, b).value == -2.0


def test_plain_numbers_get_brackets_where_they_are_negative() -> None:
    graph = Graph()
    a, b = graph.number(1.5, "a"), graph.number(4.0, "b")
    assert SCRIPT.written(a**0.5) == "a ** 0.5"
    assert SCRIPT.written(a * -0.5) == "a * (-0.5)"
    assert SCRIPT.written(a - -0.5) == "a - -0.5"
    assert SCRIPT.written(np.maximum(a + b, 0.0)) == "max(a + b, 0.0)"


def test_sums_that_nobody_shows_yet_are_told_in_their_order() -> None:
    graph = Graph()
    a, b = graph.number(1.5, "a"), graph.number(4.0, "b")
    first, second = a + b, a * b
    whole = first * second + first
    assert inside(whole) == [first, second, first * second]
    first.place = "C4"
    assert inside(whole) == [second, first * second]
    assert brief(a * 2.0)
    assert brief(first * 2.0)  # a name for the sum stands somewhere
    assert not brief(second * 2.0)
    assert not brief(a * b)
