"""The draft of a folder and its daily copies: nothing typed is lost, and what two people change is put together."""

import sqlite3
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.shop.copies import DAYS, copies, files_of, keep_copy, kept
from pricing.shop.draft import DRAFT_FILE, NOTHING, Draft, Text


def test_steps_are_undone_and_done_again_by_whoever_opens_the_draft(tmp_path: Path) -> None:
    draft = Draft(tmp_path)
    assert draft.top() == NOTHING
    assert not draft.undo()
    assert not (tmp_path / DRAFT_FILE).exists()
    draft.add("one", {"a": Text("0", "1")})
    draft.add("two", {"a": Text("0", "2")})
    other = Draft(tmp_path)
    assert other.top().files["a"].now == "2"
    assert other.undo()
    assert draft.top().files["a"].now == "1"
    assert draft.can == (True, True)
    assert draft.redo()
    assert draft.top().files["a"].now == "2"
    draft.undo()
    draft.add("one", {"a": Text("0", "3")})
    assert draft.can == (True, False)
    draft.clear()
    assert other.top() == NOTHING


@settings(deadline=None)  # each step waits for the disk
@given(st.lists(st.sampled_from(["add", "undo", "redo"]), max_size=30))
def test_a_draft_is_a_list_with_a_mark_in_it(tmp_path_factory: pytest.TempPathFactory, moves: list[str]) -> None:
    draft, steps, mark = Draft(tmp_path_factory.mktemp("draft")), [""], 0
    for n, move in enumerate(moves):
        if move == "add":
            steps[mark + 1 :] = [str(n)]
            mark += 1
            draft.add("me", {"a": Text("", str(n))})
        elif move == "undo":
            assert draft.undo() == (mark > 0)
            mark = max(0, mark - 1)
        else:
            assert draft.redo() == (mark < len(steps) - 1)
            mark = min(len(steps) - 1, mark + 1)
        assert draft.top().files.get("a", Text("", "")).now == steps[mark]
        assert draft.can == (mark > 0, mark < len(steps) - 1)


def test_a_damaged_draft_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / DRAFT_FILE).write_bytes(b"this is no database, but long enough to be taken for one" * 20)
    with pytest.raises(BadInput, match="delete .draft.db"):
        Draft(tmp_path).top()


def test_a_writer_waits_for_another(tmp_path: Path) -> None:
    Draft(tmp_path).add("one", {})
    with sqlite3.connect(tmp_path / DRAFT_FILE, isolation_level=None) as link:
        link.execute("BEGIN IMMEDIATE")
        link.execute("ROLLBACK")
    link.close()
    Draft(tmp_path).add("two", {})
    assert Draft(tmp_path).top().who == "two"


@given(st.sets(st.integers(0, 800), max_size=80))
def test_the_last_days_and_the_first_of_each_month_are_kept(ago: set[int]) -> None:
    today = date(2026, 4, 21)
    days = [today - timedelta(days=n) for n in ago]
    stay = kept(days, today)
    assert {day for day in days if today - day < timedelta(days=DAYS)} <= stay
    assert {(day.year, day.month) for day in stay} == {(day.year, day.month) for day in days}
    old = [day for day in stay if today - day >= timedelta(days=DAYS)]
    assert len(old) <= len({(day.year, day.month) for day in old})


def test_a_copy_is_made_once_a_day_and_old_ones_go(own: Path) -> None:
    begun = date(2026, 1, 1)
    for n in range(60):
        assert keep_copy(own, begun + timedelta(days=n))
        assert not keep_copy(own, begun + timedelta(days=n))
    days = copies(own)
    assert days[:DAYS] == [begun + timedelta(days=n) for n in range(59, 59 - DAYS, -1)]
    assert days[DAYS:] == [date(2026, 2, 1), date(2026, 1, 1)]
    assert files_of(own, begun)["shop.toml"] == (own / "shop.toml").read_text("utf-8")
    assert (own / ".copies" / "2026-01-01" / "jobs").is_dir()
    with pytest.raises(BadInput, match="not there"):
        files_of(own, date(2020, 1, 1))
