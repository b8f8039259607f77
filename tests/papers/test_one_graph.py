"""Draws, spreadsheet and the sum in words are read from one graph, so a rule that changes changes in all of them."""

import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pricing.costing.draws import Sampler
from pricing.costing.graph import Graph, Script, Symbol, SymbolBook, Untraceable, where
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.plan import Plan
from pricing.costing.sheet import cost
from pricing.papers import formulas
from pricing.papers.live_job import live_sheet, part_cells
from pricing.papers.live_shop import live_shop
from pricing.parts.items import Item
from pricing.parts.job import Job, read_job
from pricing.shop.shop import Shop
from pricing.show.sums import Sums, sum_number, why
from tests.conftest import ROOT
from tests.papers.books import reworked

JOBS = sorted((ROOT / "data" / "jobs").glob("*.toml"))


def at_the_means(plan: Plan) -> float:
    """What the tape gives when every draw is the mean: the loops take what is to be expected."""
    means = plan.known.means()
    return float(plan.on({key: np.full(4, means[key]) for key in plan.keys}, 4)[0])


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_quote_draws_spreadsheet_and_words_come_to_the_same(path: Path, shop: Shop, items: dict[str, Item]) -> None:
    job = read_job(path, shop, items)
    sheet = cost(shop, job)
    plan = Plan(JobCost.of(shop, job), known_of(shop), luck=False)
    assert plan.tape is not None
    assert at_the_means(plan) == pytest.approx(sheet.total, rel=1e-12)
    live = live_shop(shop)
    on_cells: Any = live_sheet(live, job, [part_cells(live, lot.part, lot.pieces) for lot in job.lots], job.finish)
    total = on_cells.sheet.total
    assert reworked(live.graph, {})[total.at] == pytest.approx(sheet.total, rel=1e-12)
    for told, line in zip(Sums(sheet).sheet.lines, sheet.lines, strict=True):
        assert sum_number(told.total) == pytest.approx(line.total, rel=1e-12), line.id


def test_a_rule_that_changes_changes_in_all_of_them(shop: Shop, letters: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    before = cost(shop, letters).line("coat.2")

    def clumsier(area_m2: Any, *, film_um: Any, density_g_per_cm3: Any, utilisation: Any) -> Any:
        return area_m2 * film_um * density_g_per_cm3 * 1e-3 / utilisation * 1.25

    monkeypatch.setattr("pricing.steps.coat.powder_kg", clumsier)
    sheet = cost(shop, letters)
    line = sheet.line("coat.2")
    assert float(line.cash) > float(before.cash) + 0.2
    plan = Plan(JobCost.of(shop, letters), known_of(shop), luck=False)
    assert at_the_means(plan) == pytest.approx(sheet.total, rel=1e-12)
    live = live_shop(shop)
    on_cells = live_sheet(
        live, letters, [part_cells(live, lot.part, lot.pieces) for lot in letters.lots], letters.finish
    )
    kg: Any = on_cells.sheet.line("coat.2").uses[0].materials[0].kg
    for node in live.graph.nodes:
        node.place = node.place or (formulas.CellPlace("s", node.at, 0, f"n{node.at}") if node.op is None else None)
    assert formulas.written(kg, "s").endswith("*1.25")
    row = next(row for row in why(sheet, line) if row.startswith("signal white: ") and "µm" in row)
    assert "density 1.55 g/cm³" in row
    assert "× 1.25 =" in row


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_every_sum_in_words_comes_to_what_it_says(path: Path, shop: Shop, items: dict[str, Item]) -> None:
    """The written sums worked out again: numbers in full instead of their words, all else as it is told."""
    sheet = cost(shop, read_job(path, shop, items))
    sums = Sums(sheet)
    signs = {np.add: ("+", 2), np.subtract: ("-", 2), np.multiply: ("*", 3), np.divide: ("/", 3), np.power: ("**", 4)}
    calls = {np.maximum: ("max({0},{1})", 5), np.minimum: ("min({0},{1})", 5), np.ceil: ("ceil({0})", 5)}
    hand = Script(signs, calls, repr, lambda part: repr(part.value) if part.op is None else None)
    names = {"max": max, "min": min, "ceil": math.ceil, "__builtins__": {}}
    for line in sums.sheet.lines:
        total: Any = line.total
        if isinstance(total, Symbol):
            assert eval(hand.written(total), names) == pytest.approx(total.value, rel=1e-12), line.id  # noqa: S307


def test_the_words_behind_a_step_name_every_factor(shop: Shop, letters: Job) -> None:
    sheet = cost(shop, letters)
    rows = why(sheet, sheet.line("full_cure"))
    assert rows == why(sheet, sheet.line("full_cure"))  # told in full each time
    loads = next(row for row in rows if "how full loads are" in row)
    assert re.search(r"jobs that share a load \S+ = \S+ loads$", loads)
    held = next(row for row in rows if row.startswith("small oven: "))
    assert re.search(r" \+ \S+ min = \S+ min$", held)
    assert any(re.search(r"× \(1 \+ rest and small delays 12\.3%\) = \S+ min$", row) for row in rows)
    assert "cash" in rows[-2]
    assert rows[-2].startswith("together: ")
    assert rows[-2].endswith(f"= €{float(sheet.line('full_cure').total):.2f}")
    wiped = next(row for row in why(sheet, sheet.line("wipe.2")) if row.startswith("electricity: "))
    assert re.match(r"electricity: fan of the spray booth \S+ kW × \S+ min ÷ 60 = ", wiped)
    blasted = next(row for row in why(sheet, sheet.line("blast")) if row.startswith("electricity: "))
    named = r"fan of the blast cabinet \S+ kW × (\S+) min \+ compressor \S+ kW × \(\1 min × nozzle open \S+%\)"
    assert re.match(rf"electricity: \({named}\) ÷ 60 = ", blasted)
    redo = why(sheet, sheet.line("redo"))
    # what stands in many sums is told by itself
    assert sum("rejects after cure 6% ÷ (1 − rejects after cure 6%) = 0.0638" in row for row in redo) == 1
    assert "  9 parts × 0.0638 = 0.574 parts" in redo


def test_a_model_that_looks_at_the_numbers_has_no_graph() -> None:
    graph = Graph()
    book = SymbolBook(graph, {"sure": 2.0}, lambda key: key == "drawn")
    drawn: Any = book["drawn"]
    assert book["sure"] == 2.0
    assert book["drawn"] is drawn
    for asked in (float, bool, len, list, np.sort, np.add.reduce, lambda one: one + "1"):
        with pytest.raises(Untraceable):
            asked(drawn)
    with pytest.raises(Untraceable):
        list(book)


def test_the_same_sum_is_one_node_and_what_changes_nothing_is_none() -> None:
    graph = Graph()
    one: Any = graph.number(3.0)
    other: Any = graph.number(4.0)
    assert one * other is one * other
    assert one * 1.0 is one
    assert 0.0 + one is one
    assert one / 1.0 is one
    assert one * 0.0 == 0.0
    assert isinstance(one * 0.0, float)
    assert (one - other).value == -1.0
    assert np.where(one > other, one, other).value == 4.0
    assert np.where(one > other, one, other).op is where
    assert math.isnan((one * graph.number(math.nan)).value)
    graph.afresh()
    assert (one * other).at == len(graph.nodes) - 1


def test_the_tape_needs_no_model_to_be_played(shop: Shop, letters: Job) -> None:
    known = known_of(shop)
    plan = Plan(JobCost.of(shop, letters), known)
    assert plan.tape is not None
    direct = JobCost.of(shop, letters)(Sampler(known, 3).block(0))
    np.testing.assert_allclose(plan.on_blocks(Sampler(known, 3), 0, 1), direct, rtol=1e-11)
    assert not any(isinstance(value, Symbol) for atom in plan.tape.atoms for value in atom)
