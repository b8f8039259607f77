"""A terminal of 80 columns, in a shop that counts in yen: no number is broken, no word falls apart, sums come out."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from rich.console import Console

from pricing.commands import tables
from pricing.commands.main import main
from pricing.shop.folder import new_folder
from tests.conftest import ROOT

COMMANDS = [
    ("quote", "bench_ends"),
    ("compare", "sign_letters"),
    ("oven", "bench_ends"),
    ("two-tone", "sign_letters"),
    ("part", str(ROOT / "data/drawings/house_numbers_inch.dxf"), "--thickness", "1/8 in", "--material", "mild steel"),
    ("price-list", "--quantities", "1,20"),
    ("why", "sign_letters", "wipe"),
    ("capacity",),
    ("hire-buy-drop",),
]


@pytest.fixture(scope="module")
def yen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_folder(tmp_path_factory.mktemp("yen") / "mine", currency="JPY", locale="ja_JP")


@pytest.fixture(scope="module")
def dollars(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_folder(tmp_path_factory.mktemp("usd") / "mine", currency="USD", locale="en_US", units="us")


def shown(monkeypatch: pytest.MonkeyPatch, width: int, *words: str) -> str:
    def console() -> Console:
        return Console(highlight=False, emoji=False, width=width)

    monkeypatch.setattr(tables, "console", console)
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    return done.output


def whole(text: str) -> set[str]:
    """Words and numbers of a text that a break inside would leave in pieces."""
    return {word for word in re.split(r"[\s─]+", text) if len(word) <= 12 and any(c.isalnum() for c in word)}


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_nothing_is_broken_or_cut_at_80_columns(
    words: tuple[str, ...], yen: Path, dollars: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for folder in (yen, dollars):
        narrow = shown(monkeypatch, 80, *words, "--shop", str(folder))
        wide = shown(monkeypatch, 240, *words, "--shop", str(folder))
        assert max(map(len, narrow.splitlines())) <= 80
        # a hyphenated word may be parted at its hyphen, and at nothing else
        assert whole(narrow.replace("-", " ")) == whole(wide.replace("-", " "))


def test_yen_have_no_decimals(yen: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = shown(monkeypatch, 80, "quote", "bench_ends", "--shop", str(yen))
    (row,) = re.findall(r"full cost +\d+((?: +[\d,.]+){5})", text)
    amounts = [int(amount.replace(",", "")) for amount in row.split()]  # no int has a decimal
    assert sum(amounts[:4]) == pytest.approx(amounts[4], abs=2)
    assert amounts[4] == pytest.approx(164 * 492, rel=0.01)


def test_a_sum_multiplies_out_as_printed(tmp_path: Path) -> None:
    us = str(tmp_path / "us")
    CliRunner().invoke(main, ["new", us, "--currency", "USD", "--locale", "en_US", "--units", "us"])
    number = r"[€$\s]*([\d,.]+)"
    for folder in ((), ("--shop", us)):
        told = CliRunner().invoke(main, ["why", "sign_letters", "wipe", *folder]).output
        sums = re.findall(rf"{number} (?:m|ft|min|kWh) ×{number}(?: min)?/(h|m|ft|kWh) ={number}", told)
        assert len(sums) >= 6, told
        for amount, rate, per, result in sums:
            product = float(amount) * float(rate) / (60 if per == "h" else 1)
            assert product == pytest.approx(float(result), abs=0.0101), (amount, rate, per, result)


@pytest.mark.parametrize(
    "name", ["wipe", "wipe.2", "Wipe the line clean, second coat*", "wipe the line clean", "Rejects after cure"]
)
def test_why_takes_a_step_as_the_cost_sheet_shows_it(name: str) -> None:
    done = CliRunner().invoke(main, ["why", "sign_letters", name])
    assert done.exit_code == 0, done.output
    assert done.output.startswith(name.rstrip("*").split(",")[0].capitalize() if " " in name else "Wipe")


@pytest.mark.parametrize(
    "words",
    [("print-list", "--format", "csv"), ("customer-quote", "bench_ends", "--format", "html"), ("spreadsheet",)],
    ids=lambda words: words[0],
)
def test_a_path_is_told_when_the_bar_is_gone(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bar's own line is wiped when it closes; what is printed before that stands on it."""
    from contextlib import contextmanager

    from pricing.commands import report_commands

    @contextmanager
    def bar(steps: int) -> Iterator[Callable[[int], None]]:
        yield [].append
        click.echo("the bar is gone")

    monkeypatch.setattr(report_commands, "_progress", bar)
    done = CliRunner().invoke(main, [*words, "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert done.output.index("the bar is gone") < done.output.index(str(tmp_path))


def test_words_stand_whole_before_heads_of_figures_do(capsys: pytest.CaptureFixture[str]) -> None:
    name = "Part-cure in the oven, first coat"
    tables.tell(tables.grid("t", ("visit", *["minutes it took"] * 6), [(name, *["1"] * 6)]))
    assert name in capsys.readouterr().out
