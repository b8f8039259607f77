"""Sums written from the graph: Python reads them back to the value that the model worked out."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.costing.graph import WHOLE, Graph, Script

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
    assert SCRIPT.written(a + b, least=2) == "(a + b)"
    quiet = SCRIPT._replace(silent=frozenset({60.0}))
    assert quiet.written(a * b / 60.0) == "a * b"
    assert quiet.written(a * b + 60.0) == "a * b + 60.0"
    with pytest.raises(TypeError, match="put in"):
        SCRIPT.written(a)
