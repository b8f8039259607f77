"""Drawn scenes: ranges hold the truth, errors are small, what cannot be measured is refused by its cause.

A small part of ``python -m tests.benchmarks.photo_scenes``, which runs hundreds and prints the same figures.
"""

import statistics
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.photo_scenes import MEASURES, ask, drawn_shapes, scene_of

PLAIN = (1, 2, *range(4, 11), 12, 13, 14, 15, 17, 18, 23)
SPOILT = {16: "ground", 22: "part", 26: "cards", 34: "cards", 37: "edge", 41: "cards", 62: "part"}
"""Busy ground, alike with clutter, blurred, few cards, shiny, blurred, alike with clutter; the cause that is told."""

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def rows(tmp_path_factory: pytest.TempPathFactory) -> dict[int, dict[str, Any]]:
    shapes, path = drawn_shapes(), tmp_path_factory.mktemp("scenes") / "scene.jpg"
    return {seed: ask(scene_of(seed, shapes, (800, 600)), Path(path)) for seed in (*PLAIN, *SPOILT)}


def answered(rows: dict[int, dict[str, Any]]) -> list[dict[str, Any]]:
    return [rows[seed] for seed in PLAIN if "refused" not in rows[seed]]


def test_ranges_hold_the_truth_about_nine_times_in_ten(rows: dict[int, dict[str, Any]]) -> None:
    """So few scenes tell a share to some ten per cent: measures of one scene err together."""
    good = answered(rows)
    held = [row[name][0] <= row[name][3] <= row[name][2] for row in good for name in MEASURES]
    assert len(good) >= 0.7 * len(PLAIN)
    assert 0.8 <= statistics.mean(held) <= 0.995
    assert statistics.median(row["area_m2"][2] / row["area_m2"][0] for row in good) < 1.05  # not by being wide


def test_edges_and_areas_are_within_a_per_cent_and_a_half(rows: dict[int, dict[str, Any]]) -> None:
    for name in ("edge_m", "area_m2"):
        assert statistics.median(abs(row[name][1] / row[name][3] - 1) for row in answered(rows)) < 0.015


@pytest.mark.parametrize("seed", SPOILT)
def test_what_cannot_be_measured_is_refused_by_its_cause(seed: int, rows: dict[int, dict[str, Any]]) -> None:
    assert rows[seed].get("refused") == SPOILT[seed]
