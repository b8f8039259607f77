"""The first visit in words: the question that helps most now, what it moves, how sure the prices are.

What was asked is kept beside the shop, in ``first_visit.json``, so that the visit can be left and gone on with.
"""

import json
from pathlib import Path
from typing import Any

from pricing.basis.files import write_safely
from pricing.basis.tongue import Wrong
from pricing.basis.typed import read
from pricing.prices.first_visit import Question, Visit, visit
from pricing.prices.shop_questions import range_of_answer, with_answer
from pricing.show.desk import Desk
from pricing.show.naming import Names

KEPT = "first_visit.json"
INTRODUCED = (
    "First: answer what comes, one question after the other; each time it is the one that makes your prices surest.",
    "Next: your price list on page 3, and one job on page 2. Come back here whenever you know more.",
    "Nothing can break: what you do not know stays a guess, each answer can be changed, and Undo takes it back.",
)
"""The first screen, in three lines."""


class FirstVisit:
    """A first visit to a shop's folder.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.asked: dict[str, str] = {}
        path = desk.folder / KEPT
        if not desk.demo and path.is_file():
            try:
                found = json.loads(path.read_text("utf-8"))
            except ValueError:
                found = {}  # only which questions were asked: they are asked again
            self.asked = {str(key): str(how) for key, how in found.items()} if isinstance(found, dict) else {}

    def now(self) -> Visit:
        """Look at how things stand."""
        keys = {how: [key for key, was in self.asked.items() if was == how] for how in ("answered", "unknown")}
        return visit(self.desk.shop, self.desk.items, keys["answered"], keys["unknown"])

    def give(self, key: str, text: str) -> None:
        """Take an answer as it was typed.

        Parameters
        ----------
        key : str
            Of the question.
        text : str
            What was typed.

        Raises
        ------
        Wrong
            With what is accepted, or what it could mean.
        """
        question, shop = self.question(key), self.desk.shop
        value = read(text, question.unit, shop.tongue, within=range_of_answer(shop, key))
        self.desk.change(_differing(shop, with_answer(shop, key, value)))
        self._keep(key, "answered")

    def skip(self, key: str) -> None:
        """Keep a guess as it is: the owner knows no better."""
        self._keep(key, "unknown")

    def question(self, key: str) -> Question:
        """Look a question up that is still open.

        Raises
        ------
        Wrong
            It was asked already, or there is none of that name.
        """
        for one in self.now().questions:
            if one.key == key:
                return one
        raise Wrong("This was asked already; change it on page 1.")

    def _keep(self, key: str, how: str) -> None:
        self.asked[key] = how
        if not self.desk.read_only:
            write_safely(Path(self.desk.folder) / KEPT, json.dumps(self.asked, indent=1) + "\n")

    def ask(self, question: Question) -> str:
        """Put a question into words."""
        if question.asks:
            return question.asks
        name = Names(self.desk.shop).of(question.key)
        return f"What is it in your shop, on average: {name[:1].lower()}{name[1:]}?"

    def about(self, question: Question) -> str:
        """Say what stands there now, within which range it is guessed, and what it moves."""
        tongue = self.desk.shop.tongue
        now, low, high = (tongue.show(value, question.unit, 3) for value in (question.now, question.low, question.high))
        return (
            f"Now {now}, a guess from {low} to {high}; for want of it your prices lie up to {question.moves:.0%} off."
        )

    def sure(self, found: Visit) -> str:
        """Say how sure the prices are."""
        answered = sum(how == "answered" for how in self.asked.values())
        told = f"{answered} answered. " if answered else ""
        return f"{told}Your prices are sure to within {found.sure_within:.0%}."


def _differing(old: Any, new: Any) -> dict[str, Any]:
    names = ("owner", "helper", "fixed", "tariffs", "machines", "powders", "rates", "assumptions")
    return {name: getattr(new, name) for name in names if getattr(new, name) != getattr(old, name)}
