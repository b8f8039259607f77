"""Finishes as data: which coat has a line, and which lines cannot exist."""

from dataclasses import replace
from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.costing.sheet import CostSheet, cost
from pricing.costing.walk import RESPRAY
from pricing.parts.job import Job
from pricing.shop.finishes import Finish, read_finishes
from pricing.shop.shop import Shop

_HEAD = 'title = "t"\nrejects = "wiped"\n'
THREE = """
coats = [
  { powder = 1, cure = "partial" },
  { powder = 2, over = "second", cure = "partial", line = "wiped" },
  { powder = 3, over = "second", cure = "full", line = "wiped" },
]
"""
PRIMER = """
coats = [
  { powder = 3, cure = "partial" },
  { powder = 1, cure = "partial" },
  { powder = 2, over = "second", cure = "full", line = "wiped" },
]
"""
OVER_CLEAR = """
coats = [
  { powder = 1, cure = "partial" },
  { powder = 3, cure = "full" },
  { powder = 2, over = "second", cure = "full", line = "masked" },
]
"""


def _read(folder: Path, text: str) -> Finish:
    path = folder / "finishes.toml"
    path.write_text("[it]\n" + _HEAD + text, "utf-8")
    return read_finishes(path)["it"]


def _sheet(shop: Shop, job: Job, finish: Finish) -> CostSheet:
    job = job.model_copy(update={"powders": ("jet black", "signal white", "clear gloss")})
    return cost(replace(shop, finishes={**shop.finishes, "it": finish}), job, finish="it")


@pytest.mark.parametrize(
    ("text", "wiped", "taped"),
    [(THREE, [2, 3], []), (PRIMER, [3], []), (OVER_CLEAR, [], [3])],
)
def test_each_line_is_made_at_its_own_coat(
    shop: Shop, plates: Job, tmp_path: Path, text: str, wiped: list[int], taped: list[int]
) -> None:
    sheet = _sheet(shop, plates, _read(tmp_path, text))
    assert [line.coat for line in sheet.lines if line.step == "wipe"] == wiped
    assert [line.coat for line in sheet.lines if line.step == "tape"] == taped
    sprayed = [use.coat for line in sheet.lines if line.step == RESPRAY for use in line.uses if use.step == "coat"]
    assert sprayed == wiped, "the coat that was spoiled is the one sprayed again"
    tape = [
        term.amount
        for line in sheet.lines
        if line.step == "unmask"
        for use in line.uses
        for term in use.terms
        if term.driver == "tape_m"
    ]
    assert bool(tape) is bool(taped)


def test_a_second_line_is_paid_for_twice(shop: Shop, plates: Job, tmp_path: Path) -> None:
    """Three colours with one line wiped against both wiped: the second wipe with its respray, set-ups alike."""
    one = _sheet(shop, plates, _read(tmp_path, THREE.replace('cure = "partial", line = "wiped"', 'cure = "partial"')))
    both = _sheet(shop, plates, _read(tmp_path, THREE))
    wipes = [float(line.total) for line in both.lines if line.step == "wipe"]
    assert wipes[0] == pytest.approx(wipes[1])
    assert both.total - one.total >= wipes[0]


def test_a_line_said_once_for_the_finish_is_that_of_the_second_coat(tmp_path: Path) -> None:
    old = _read(
        tmp_path,
        'line = "wiped"\n'
        + PRIMER.replace(', line = "wiped"', "").replace("{ powder = 1, cure", '{ powder = 1, over = "second", cure'),
    )
    assert old.lines("wiped") == (2,)
    assert old.line == "wiped"


@pytest.mark.parametrize(
    ("coats", "says"),
    [
        ('{ powder = 1, over = "second", cure = "full", line = "wiped" }', "no line in coat 1"),
        (
            '{ powder = 1, cure = "partial" }, { powder = 1, over = "second", cure = "full", line = "wiped" }',
            "another powder in coat 2",
        ),
        (
            '{ powder = 1, cure = "partial" }, { powder = 2, cure = "full", line = "wiped" }',
            "over = 'second' for coat 2",
        ),
        (
            '{ powder = 1, cure = "none" }, { powder = 2, over = "second", cure = "full", line = "wiped" }',
            "a coat under coat 2 that is cured",
        ),
        (
            '{ powder = 1, cure = "partial" }, { powder = 2, over = "second", cure = "full", line = "masked" }',
            "with cure = 'full' before it is masked",
        ),
    ],
)
def test_a_line_that_cannot_exist_is_refused(tmp_path: Path, coats: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        _read(tmp_path, f"coats = [{coats}]\n")
