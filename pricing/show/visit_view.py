"""The first visit in words: what is asked, what it moves, how firm the list is, and what is taken for an answer."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from html import escape
from typing import Any

from pricing.basis.tongue import Wrong
from pricing.basis.typed import read
from pricing.prices.firmness import Firmness
from pricing.prices.first_visit import VisitQuestion, questions
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop
from pricing.shop.visit import JOB, NOT_KNOWN, SOLD, is_unknown
from pricing.show.blocks import Rows
from pricing.show.naming import Names
from pricing.show.tiles import fact_tiles, tile, tile_number, tiles
from pricing.show.words import counted

FIRST_LINES = (
    "First answer the question: what matters most is asked first, and “I don't know” is an answer.",
    "Next tick what you sell, and say what stands in your shop: both stand below where you answer.",
    "Nothing can break: you can undo any step, and nothing counts until you save.",
)
"""What the first screen says: what to do first, what next, and that nothing can break."""
_SIDES = dict(zip(COLUMNS, ("single-tone", "two-tone"), strict=True))
_IN_US = {"square metre": "square foot", "metre": "foot", "kilogram": "pound"}
_SHOWN = 10
_LITTLE = 0.001
"""Of a price: an answer that makes the list surer by less than this is hardly worth the asking."""
ENOUGH = "What matters is answered. From here on jobs that you log on page 7 make prices surer than answers do."
_LEANS = 0.01
FIRM = 0.05
"""A list that is sure to within this is firm: further answers move prices by less than they are rounded."""


def percent(share: float) -> str:
    """Write a share in whole per cent, with one decimal below ten."""
    return f"{100 * share:.0f} %" if share >= 0.0995 else f"{100 * share:.1f} %"


def asks(shop: Shop, question: VisitQuestion) -> str:
    """Write the question in words."""
    if question.key == "powders.price":
        from pricing.prices.first_visit import most_used

        return f"{_measured(shop, 'What do you pay for a kilogram of')} {most_used(shop).name}?"
    if question.key.startswith("film."):
        return question.asks.replace("a powder", question.key.removeprefix("film."))
    return _measured(shop, question.asks) or f"{Names(shop).of(question.key).capitalize()}: how much?"


def _measured(shop: Shop, words: str) -> str:
    """Say measures in words as the shop counts: who thinks in feet answers for a foot."""
    for metric, us in _IN_US.items() if shop.tongue.units == "us" else ():
        words = words.replace(metric, us)
    return words


def guess_of(shop: Shop, question: VisitQuestion) -> str:
    """Say what is taken until it is answered, with its range."""
    points = question.points(shop)
    low, high = (shop.tongue.number(end, question.unit, 3) for end in (points.low, points.high))
    return f"{shop.tongue.show(question.value(shop), question.unit, 3)}, which may be {low} to {high}"


def moves(found: Firmness, *keys: str) -> str:
    """Say what the numbers of some questions move and by how much."""
    usual, most, row = found.moved(*keys)
    they = "It moves" if len(keys) == 1 else "Together they move"
    if row is None:
        return f"{they} none of the prices you ticked."
    title = f"{row[0].title}, {_SIDES[row[1]]}"
    return f"{they} your prices by {percent(usual)} either way, most of all {title}: {percent(most)}."


def sure(found: Firmness) -> str:
    """Say how sure the list is."""
    told = f"Your prices are now sure to within {percent(found.within)}"
    return f"{told}: your list is firm." if found.within <= FIRM else f"{told}."


def answers_given(shop: Shop, given: Mapping[str, str]) -> dict[str, Any]:
    """Take the answers of one breath, typed, by question; gives tables of the shop with all of them.

    Empty is "I don't know". `Wrong` where one cannot be read, or is to be asked.
    """
    tables: dict[str, Any] = {}
    for key, text in given.items():
        tables |= _answer(shop, questions(shop)[key], text)
        shop = replace(shop, **tables)
    return tables


def _answer(shop: Shop, question: VisitQuestion, given: str) -> dict[str, Any]:
    if not given.strip() or is_unknown(given):
        return {"visited": {**shop.visited, question.key: NOT_KNOWN}}
    value = read(
        given, question.unit, shop.tongue, now=question.value(shop), within=question.within, small=question.of_book
    )
    try:
        tables = question.put(shop, value)
    except ValueError as why:
        raise Wrong(f"Write another number: {why}") from why
    return tables | {"visited": {**shop.visited, question.key: shop.tongue.show(value, question.unit)}}


def only_sold(shop: Shop, items: Sequence[str]) -> dict[str, Any]:
    """Describe the record of what is sold, by keys of items."""
    return {"visited": {**shop.visited, SOLD: " ".join(items)}}


def _tiles_of(found: Firmness) -> str:
    """Write the tiles: how sure the list is, what was asked, what the next answer would bring."""
    said = [text for key, text in found.shop.visited.items() if key != SOLD and not key.startswith(JOB)]
    unknown = said.count(NOT_KNOWN)
    left = next((keys for keys in found.breaths if found.gain(*keys) > 0), ())
    rest = counted(unknown, "guess stays", "guesses stay") if unknown else "numbers so far"
    firmer = percent(found.after(*left))
    return tiles(
        [
            tile("Your prices are now sure to within", tile_number(percent(found.within)), "nine in ten of them"),
            tile("Answered", tile_number(str(len(said) - unknown)), escape(rest)),
            tile("After this question", tile_number(firmer), "if it is as sure as such answers are"),
        ]
    )


def unsure_rows(found: Firmness) -> dict[str, Rows]:
    """Collect what makes the prices unsure: the open questions that move the list most."""
    open_ = [key for key, question in found.questions.items() if not question.asked(found.shop)]
    keys = sorted(open_, key=lambda key: found.moved(key)[0], reverse=True)[:_SHOWN]
    return {"unsure": [_unsure(found, key, place) for place, key in enumerate(keys)]}


def _unsure(found: Firmness, key: str, place: int) -> dict[str, Any]:
    why = f"{asks(found.shop, found.questions[key])} {moves(found, key)}"
    return {"title": _title(found, key), "place": place, "share": found.moved(key)[0], "why": why}


_SHORT = {
    "owner.draw_per_y": "What you take home",
    "owner.on_cost": "Dues on top",
    "owner.weeks": "Weeks a year",
    "owner.hours_per_week_h": "Hours a week",
    "owner.billable": "Share of hours on jobs",
    "fixed.rent": "Rent",
    "fixed.rest": "All other bills",
    "helper.wage_per_h": "Helper's wage",
    "helper.share": "Helper's share",
    "tariffs.electricity_per_kwh": "Electricity",
    "tariffs.gas_per_kwh": "Gas",
    "machines.oven": "Price of the ovens",
    "machines.rest": "Price of the other machines",
    "powders.price": "Price of powder",
}


def _title(found: Firmness, key: str) -> str:
    name = _SHORT.get(key) or Names(found.shop).of(key)
    return name[:1].upper() + name[1:]


def _question_card(found: Firmness, keys: Sequence[str]) -> str:
    """Write what is asked next as HTML: one question, or those of one breath."""
    shop = found.shop
    asked = []
    for question in (found.questions[key] for key in keys):
        note = f"{escape(question.note)}. " if question.note else ""
        guess = f"Until you answer: {escape(guess_of(shop, question))}."
        asked.append(f"<h2>{escape(asks(shop, question))}</h2><p class='sub'>{note[:1].upper()}{note[1:]}{guess}</p>")
    enough = f"<p><b>{ENOUGH}</b></p>" if little(found, keys) else ""
    several = " class='breath'" if len(keys) > 1 else ""  # headings small enough that three do not roll
    return f"<div{several}>{''.join(asked)}</div><p>{escape(moves(found, *keys))}</p>{enough}"


def little(found: Firmness, keys: Sequence[str]) -> bool:
    """Tell whether answers would make the list hardly surer."""
    return found.gain(*keys) < _LITTLE


def _said(found: Firmness, key: str, text: str) -> str:
    """Write what was said, and what prices reckon with where a guess still counts."""
    question = found.questions[key]
    if text == NOT_KNOWN:
        return "the guess stays"
    row = found.shop.uncertain.get(key)
    leans = row is not None and row.mean and abs(row.likely / row.mean - 1) > _LEANS
    means = found.shop.tongue.show(row.mean, question.unit, 3) if row is not None and leans else ""
    return f"{escape(text)}{f'; prices reckon with {escape(means)}, nearer to what is usual' if means else ''}"


def _said_table(found: Firmness) -> str:
    """Write what was said so far as HTML, the newest first."""
    said = [(key, text) for key, text in reversed(list(found.shop.visited.items())) if key in found.questions]
    rows = [(asks(found.shop, found.questions[key]), _said(found, key, text)) for key, text in said]
    if not rows:
        return "<p class='sub'>What you answer will stand here, the newest first.</p>"
    return fact_tiles(rows, head=("You were asked", "you said"))


def cards(found: Firmness, keys: Sequence[str]) -> dict[str, str]:
    """Collect the words of the page as HTML, by block of its board; no ``keys`` where no question is left."""
    question = _question_card(found, keys) if keys else "<p>Nothing is left to ask.</p>"
    lines = f"<ol class='firsts'>{''.join(f'<li>{escape(line)}</li>' for line in FIRST_LINES)}</ol>"
    return {"answers": _tiles_of(found), "lines": lines, "question": question, "said": _said_table(found)}
