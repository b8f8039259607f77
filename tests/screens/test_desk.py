"""The desk: every page sees the draft, two people do not take each other's changes away, and nothing typed is lost."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.shop.copies import keep_copy
from pricing.shop.folder import open_shop, save_shop
from pricing.show.desk import Desk
from pricing.show.merge import merged_rows


@pytest.fixture
def two(own: Path) -> tuple[Desk, Desk]:
    return Desk(own, read_only=False), Desk(own, read_only=False)


def _own(desk: Desk, **changes: float) -> None:
    desk.change({"owner": desk.shop.owner.model_copy(update=changes)})


def _rate(desk: Desk, key: str, high: float) -> None:
    desk.change({"rates": {**desk.shop.rates, key: replace(desk.shop.rates[key], high=high)}})


def test_what_is_typed_on_one_page_is_on_the_other_and_after_a_restart(two: tuple[Desk, Desk], own: Path) -> None:
    here, there = two
    _own(here, weeks=44.0)
    assert there.shop.owner.weeks == 46
    assert there.look()
    assert there.shop.owner.weeks == 44
    assert there.told == "Changed on another page: people"
    assert not there.look()
    again = Desk(own, read_only=False)
    assert again.changes() == ["people"]
    assert again.shop.folder == own
    assert open_shop(own).owner.weeks == 46, "it is a draft"


def test_two_who_change_different_fields_at_once_keep_both(two: tuple[Desk, Desk]) -> None:
    here, there = two
    _own(here, weeks=44.0)
    _own(there, billable=0.5)  # began before it saw the other's
    assert (there.shop.owner.weeks, there.shop.owner.billable) == (44, 0.5)
    here.look()
    assert here.shop == there.shop
    _rate(here, "wipe.line_m.hands", 7.0)
    _rate(there, "blast.m2.hands", 90.0)
    assert there.shop.rates["wipe.line_m.hands"].high == 7
    assert there.shop.rates["blast.m2.hands"].high == 90


def test_of_one_field_the_later_change_stands_and_both_are_told(two: tuple[Desk, Desk]) -> None:
    here, there = two
    _own(here, weeks=44.0)
    _own(there, weeks=40.0)
    here.look()
    assert here.shop.owner.weeks == there.shop.owner.weeks == 40
    assert here.told == there.told == "Changed on another page: people"


def test_undo_redo_and_discard_work_on_any_page(two: tuple[Desk, Desk]) -> None:
    here, there = two
    _own(here, weeks=44.0)
    _own(here, weeks=43.0)
    assert there.undo()
    assert there.shop.owner.weeks == 44
    here.look()
    assert here.shop.owner.weeks == 44
    assert here.redo()
    assert here.shop.owner.weeks == 43
    there.discard()
    assert not there.changed
    here.look()
    assert here.shop.owner.weeks == 46
    here.undo()
    assert here.shop.owner.weeks == 43, "even that can be undone"


def test_a_save_on_one_page_is_the_shop_of_the_other(two: tuple[Desk, Desk], own: Path) -> None:
    here, there = two
    _own(here, weeks=44.0)
    assert there.save() == ["shop.toml"]
    assert open_shop(own).owner.weeks == 44
    here.look()
    assert not here.changed
    assert here.saved.shop.owner.weeks == 44
    assert there.days == [date.today()]  # noqa: DTZ011


def test_a_file_that_is_saved_meanwhile_by_a_program_is_not_lost_with_the_draft(own: Path) -> None:
    here = Desk(own, read_only=False)
    _rate(here, "wipe.line_m.hands", 7.0)
    shop = open_shop(own)
    other = {**shop.rates, "blast.m2.hands": replace(shop.rates["blast.m2.hands"], high=90.0)}
    save_shop(replace(shop, rates=other), own)
    here.look()
    assert here.shop.rates["wipe.line_m.hands"].high == 7
    assert here.shop.rates["blast.m2.hands"].high == 90
    here.save()
    saved = open_shop(own).rates
    assert (saved["wipe.line_m.hands"].high, saved["blast.m2.hands"].high) == (7, 90)


def test_a_day_is_brought_back_into_the_draft(own: Path) -> None:
    before = date.today() - timedelta(days=3)  # noqa: DTZ011
    keep_copy(own, before)
    here = Desk(own, read_only=False)
    _own(here, weeks=44.0)
    here.save()
    here.bring_back(before)
    assert here.shop.owner.weeks == 46
    assert open_shop(own).owner.weeks == 44, "not before it is saved"
    here.undo()
    assert here.shop.owner.weeks == 44


def test_a_page_that_only_shows_follows_the_folder_and_keeps_trials_to_itself(own: Path) -> None:
    shown, here = Desk(own, read_only=True), Desk(own, read_only=False)
    _own(shown, weeks=40.0)
    assert shown.undo()
    assert shown.redo()
    assert not here.look()
    _own(here, weeks=44.0)
    assert not shown.look(), "a draft is the owner's own"
    here.save()
    assert shown.look()
    assert shown.shop.owner.weeks == 44


numbers = st.dictionaries(st.sampled_from("abcd"), st.integers(0, 3))


@given(numbers, numbers, numbers)
def test_merging_keeps_every_change_that_nobody_made_later(base: dict, mine: dict, theirs: dict) -> None:
    found = merged_rows(base, mine, theirs)
    for key in {**base, **mine, **theirs}:
        wanted = theirs if mine.get(key) == base.get(key) else mine
        assert found.get(key) == wanted.get(key)
    assert merged_rows(base, base, theirs) == theirs
    assert merged_rows(base, mine, base) == mine
