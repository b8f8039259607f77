"""Notebooks are thin, carry no output, and run from a fresh kernel in a folder of their own."""

import ast
import shutil
from pathlib import Path

import nbclient
import nbformat
import pytest

from pricing.parts.job import Job
from pricing.prices.quote import quote
from pricing.screens.bar import PAGES
from pricing.screens.pages import own_folder
from pricing.shop.shop import Shop
from tests.conftest import ROOT

TOUR = ROOT / "notebooks" / "how_one_price_comes_about.ipynb"
NOTEBOOKS = sorted(set((ROOT / "notebooks").glob("*.ipynb")) - {TOUR})


def test_there_is_a_notebook_for_every_page() -> None:
    assert [path.stem for path in NOTEBOOKS] == list(PAGES)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_is_thin_hidden_and_empty(path: Path) -> None:
    book = nbformat.read(path, as_version=4)
    nbformat.validate(book)
    assert book.metadata["powder_page"] == path.stem
    for cell in book.cells:
        assert len(cell.source.splitlines()) <= 4
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None
            assert cell.metadata["jupyter"]["source_hidden"] is True
            kinds = (ast.FunctionDef, ast.ClassDef, ast.Lambda)
            assert not any(isinstance(node, kinds) for node in ast.walk(ast.parse(cell.source)))


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs_from_a_fresh_kernel(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copyfile(path, tmp_path / path.name)
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    book = nbformat.read(tmp_path / path.name, as_version=4)
    nbclient.NotebookClient(book, timeout=600, resources={"metadata": {"path": str(tmp_path)}}).execute()
    shown = [out for cell in book.cells for out in cell.outputs]
    assert any("application/vnd.jupyter.widget-view+json" in out.get("data", {}) for out in shown)
    assert not [out for out in shown if out.output_type in {"error", "stream"}]


def test_the_tour_runs_and_shows_the_price_that_a_quote_has(shop: Shop, letters: Job) -> None:
    book = nbformat.read(TOUR, as_version=4)
    nbformat.validate(book)
    names: dict[str, object] = {}
    for cell in (cell for cell in book.cells if cell.cell_type == "code"):
        assert cell.outputs == []
        assert len(cell.source.splitlines()) <= 6
        exec(cell.source, names)  # noqa: S102  our own cells
    found = quote(shop, letters)
    assert repr(names["quote"]) == repr(found)
    assert names["line"].tariff.total(9) == found.net  # type: ignore[attr-defined]


def test_the_tour_is_no_page(tmp_path: Path) -> None:
    at = own_folder(tmp_path / "shop")
    assert {path.stem for path in at.glob("*.ipynb")} == set(PAGES)
