"""One job in several finishes, each with its own quote."""

from collections.abc import Sequence
from dataclasses import dataclass

from pricing.basis.errors import BadInput, Problem, choices
from pricing.parts.job import Job
from pricing.prices.colours import plain_finish
from pricing.prices.quote import Quote, quote
from pricing.shop.shop import Book, Shop


@dataclass(frozen=True, slots=True)
class Comparison:
    """The same job in several finishes; the first is the one the others are held against."""

    job: Job
    sides: tuple[Quote, ...]

    def side(self, key: str) -> Quote:
        """Return the quote in a finish; one that was not compared is refused."""
        for side in self.sides:
            if side.finish == key:
                return side
        raise BadInput(self.job.title, [Problem("finish", key, choices([s.finish for s in self.sides]))])

    def __repr__(self) -> str:
        """Say it in a few lines."""
        code = self.sides[0].shop.currency
        told = [
            f"  {side.finish}: "
            + (f"{side.net:.2f} {code}, full cost {side.cost:.2f}" if side.price else "do not quote")
            for side in self.sides
        ]
        return "\n".join([f"<Comparison: {self.job.title}", *told]) + ">"

    def _repr_html_(self) -> str:
        """Show itself in a notebook."""
        from html import escape

        rows = "".join(
            f"<tr><th style='text-align:left'>{escape(side.sheet.finish.title)}</th>"
            f"<td style='text-align:right'>{side.cost:.2f}</td>"
            f"<td style='text-align:right'>{f'{side.net:.2f}' if side.price else 'do not quote'}</td></tr>"
            for side in self.sides
        )
        head = f"<tr><th></th><th>full cost</th><th>price, {self.sides[0].shop.currency} without tax</th></tr>"
        return f"<table><caption>{escape(self.job.title)}</caption>{head}{rows}</table>"


def two_tone_finishes(shop: Shop) -> list[str]:
    """Write the finishes that make a line between two colours."""
    return [key for key, finish in shop.finishes.items() if finish.line != "none"]


def two_tone_of(shop: Shop, job: Job, key: str = "") -> str:
    """Write the two-tone finish to hold a job's plain one against: the one named, the job's own, or the shop's first.

    Raises
    ------
    BadInput
        The finish named makes no line, or the shop has none that does.
    """
    keys = two_tone_finishes(shop)
    if key and key not in keys:
        raise BadInput(job.title, [Problem("finish", key, choices(keys) if keys else "a finish with a line")])
    if not keys:
        raise BadInput("finishes.toml", [Problem("finishes", "none with a line", "a two-tone finish")])
    return key or (job.finish if job.finish in keys else keys[0])


def compare(shop: Shop, job: Job, *, finishes: Sequence[str] = (), book: Book | None = None) -> Comparison:
    """Cost and price one job in several finishes.

    Parameters
    ----------
    shop : Shop
        The owner's shop.
    job : Job
        What the customer wants done; it names the powders of the finish with most colours.
    finishes : sequence of str, optional
        Keys, the plain one first. Without them: the plain finish, the job's own, and every two-tone
        finish the job names enough powders for.
    book : mapping, optional
        Other numbers than the shop's means.

    Raises
    ------
    BadInput
        A finish is unknown, or the job names too few powders for it.
    """
    if not finishes:
        enough = [key for key in two_tone_finishes(shop) if shop.finishes[key].colours <= len(job.powders)]
        finishes = list(dict.fromkeys([plain_finish(shop), *enough, job.finish]))
    return Comparison(job, tuple(quote(shop, job, finish=key, book=book) for key in finishes))
