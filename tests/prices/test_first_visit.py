"""The first visit: the next question is the one that helps most, and answers make the list surer and truer."""

from pathlib import Path

import numpy as np
import pytest

from pricing.basis.tongue import Wrong
from pricing.parts.items import Item
from pricing.prices.first_visit import doubts, rows_cost, visit
from pricing.prices.shop_questions import book_with, now_of, settings, with_answer
from pricing.shop.folder import new_folder
from pricing.shop.shop import Shop
from pricing.show.desk import Desk
from pricing.show.first_view import FirstVisit


@pytest.fixture(scope="module")
def few(items: dict[str, Item]) -> dict[str, Item]:
    return {key: items[key] for key in ("sign_letter_300", "bicycle_frame", "gate_single")}


def test_the_doubt_of_a_row_is_what_draws_of_all_numbers_say(shop: Shop, few: dict[str, Item]) -> None:
    """Held against plain draws: every number at once from its own range, the rows costed anew each time."""
    rng, sold = np.random.default_rng(5), list(few.values())
    rates = [key for key in doubts(shop, few) if key not in settings()]
    drawn = []
    for _ in range(300):
        book = dict(shop.book)
        for key in rates:
            row = shop.uncertain[key]
            if row.shape == "pert" and row.high > row.low:
                up = [1 + 4 * (point - row.low) / (row.high - row.low) for point in (row.likely,)]
                book[key] = row.low + (row.high - row.low) * rng.beta(up[0], 6 - up[0])
        drawn.append(np.log(rows_cost(shop, sold, book)))
    ours = np.sqrt(sum(doubts(shop, few)[key] ** 2 for key in rates))
    np.testing.assert_allclose(ours, np.std(drawn, axis=0), rtol=0.15)


def test_each_question_is_the_best_one_left_and_answers_only_firm(shop: Shop, few: dict[str, Item]) -> None:
    found, answered = visit(shop, few), []
    for _ in range(5):
        weights = [one.weight for one in found.questions]
        assert weights == sorted(weights, reverse=True)
        key = found.questions[0].key
        answered.append(key)
        shop = with_answer(shop, key, now_of(shop, key))
        after = visit(shop, few, answered)
        assert after.sure_within <= found.sure_within + 1e-9
        assert key not in [one.key for one in after.questions]
        found = after
    assert found.sure_within < 0.6 * visit(shop, few).sure_within


def test_an_answer_stands_in_the_shop_and_moves_the_list_as_it_was_said_to(shop: Shop, few: dict[str, Item]) -> None:
    sold = list(few.values())
    for key in (
        "owner.draw_per_y",
        "fixed.rent",
        "fixed.others",
        "machines.prices",
        "powders.prices",
        "wipe.line_m.hands",
    ):
        value = 1.2 * now_of(shop, key)
        answered = with_answer(shop, key, value)
        assert now_of(answered, key) == pytest.approx(value)
        by_book = rows_cost(shop, sold, book_with(shop, key, value))
        assert rows_cost(answered, sold, answered.book) == pytest.approx(by_book, rel=2e-3)
        assert (by_book > rows_cost(shop, sold, shop.book) - 1e-9).all()


def test_what_is_not_known_is_not_asked_again_and_its_doubt_stays(shop: Shop, few: dict[str, Item]) -> None:
    before = visit(shop, few)
    key = before.questions[0].key
    after = visit(shop, few, unknown=[key])
    assert after.sure_within == before.sure_within
    assert after.questions == before.questions[1:]


def test_a_visit_is_left_and_gone_on_with(tmp_path: Path) -> None:
    folder = new_folder(tmp_path / "mine")
    talk = FirstVisit(Desk(folder))
    first = talk.now().questions[0]
    with pytest.raises(Wrong, match="no number"):
        talk.give(first.key, "much")
    talk.give(first.key, "30000")
    second = talk.now().questions[0]
    talk.skip(second.key)
    again = FirstVisit(Desk(folder))
    assert again.desk.shop.owner.draw_per_y == 30000
    assert {first.key, second.key}.isdisjoint(one.key for one in again.now().questions)
    again.desk.save()
    assert 'draw = "30000 EUR/year"' in (folder / "shop.toml").read_text("utf-8")
