"""What the second colour must cost extra: side by side, and as a rule that can be printed.

Room     prices. Imports basis, costing, parts, shop.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pricing.basis.errors import BadInput, Problem, choices
from pricing.costing.sheet import CostSheet, cost, cost_of_work
from pricing.parts.job import Job
from pricing.parts.work import Work, work_of_job
from pricing.prices.marks import Marks, Price, list_price, marks_of
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop


@dataclass(frozen=True, slots=True)
class Side:
    """One finish of a comparison."""

    key: str
    sheet: CostSheet
    marks: Marks
    price: Price


@dataclass(frozen=True, slots=True)
class Comparison:
    """The same job in several finishes; the first is the one the others are held against."""

    job: Job
    sides: tuple[Side, ...]

    def side(self, key: str) -> Side:
        """Give the side of a finish.

        Raises
        ------
        BadInput
            It was not compared.
        """
        for side in self.sides:
            if side.key == key:
                return side
        raise BadInput(self.job.title, [Problem("finish", key, choices([s.key for s in self.sides]))])


@dataclass(frozen=True, slots=True)
class ExtraRule:
    """The two-tone extra as a rule: so much per job, per part and per metre of line. [money]"""

    per_job: float
    per_part: float
    per_m: float

    def extra(self, parts: float, line_m: float) -> float:
        """Give the extra of a job by the rule. [money]"""
        return self.per_job + self.per_part * parts + self.per_m * line_m


def plain_finish(shop: Shop) -> str:
    """Give the finish that others are held against: the first with one coat.

    Raises
    ------
    BadInput
        The shop has none.
    """
    for key, finish in shop.finishes.items():
        if len(finish.coats) == 1:
            return key
    raise BadInput("finishes.toml", [Problem("finishes", "all with several coats", "one with a single coat at least")])


def two_tone_finishes(shop: Shop) -> list[str]:
    """Give the finishes that make a line between two colours."""
    return [key for key, finish in shop.finishes.items() if finish.line != "none"]


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
    sides = []
    for key in finishes:
        sheet = cost(shop, job, finish=key, book=book)
        price = list_price(sheet.total, shop.policy, rush=job.rush)
        sides.append(Side(key, sheet, marks_of(sheet), price))
    return Comparison(job, tuple(sides))


def extra_keeping_margin(comparison: Comparison, key: str) -> float:
    """Give the extra on the exact target price that leaves the same margin share. [money]

    Parameters
    ----------
    comparison : Comparison
        Of the job.
    key : str
        The two-tone finish.

    Raises
    ------
    BadInput
        It was not compared.
    """
    return float(comparison.side(key).marks.target - comparison.sides[0].marks.target)


def extra_rule(shop: Shop, job: Job, key: str, *, book: Book | None = None) -> ExtraRule:
    """Take the extra apart into per job, per part and per metre of line, at the target margin.

    Parameters
    ----------
    shop, job, book
        As in `compare`.
    key : str
        The two-tone finish.

    Returns
    -------
    ExtraRule
        Exact for this job; for others of the same kind as good as its drivers are straight lines
        (whole oven loads and packs are not).

    Raises
    ------
    BadInput
        As in `compare`.
    """
    plain = shop.finish(plain_finish(shop), job.title)
    fancy = shop.finish(key, job.title)
    powders = [shop.powder(name, job.title) for name in job.powders]
    work = work_of_job(job, shop)
    margin = 1.0 - shop.policy.target_margin

    def extra(at: Work) -> float:
        both = [_total(shop, at, finish, powders, book) for finish in (fancy, plain)]
        return (both[0] - both[1]) / margin

    whole, bare = extra(work), extra(replace(work, line_m=0.0))
    per_m = (whole - bare) / float(work.line_m) if work.line_m else 0.0
    doubled = replace(work, line_m=0.0).times(2.0, again=1.0, jobs=1.0)
    doubled = replace(doubled, panels=work.panels)
    per_part = (extra(doubled) - bare) / float(work.parts)
    return ExtraRule(bare - per_part * float(work.parts), per_part, per_m)


def _total(shop: Shop, work: Work, finish: Finish, powders: Sequence[Powder], book: Book | None) -> float:
    return float(cost_of_work(shop, work, finish, powders, book=book).total)
