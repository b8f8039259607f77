"""Which finishes a customer may choose from, and in which powders: single-tone, two-tone, with clear coat.

Room     papers. Imports shop, parts.
"""

from collections.abc import Sequence
from typing import NamedTuple

from pricing.parts.job import Job
from pricing.shop.finishes import Finish
from pricing.shop.shop import Shop


class Choice(NamedTuple):
    """One finish with its powders, in the order of the finish's colours."""

    key: str
    powders: tuple[str, ...]


def tones(finish: Finish) -> int:
    """Give how many colours are seen: two where there is a line, else one; what comes on top is clear."""
    return 2 if finish.line != "none" else 1


def clear_twin(shop: Shop, key: str) -> str | None:
    """Give the finish that is the same with a clear coat on top; None where the shop has none.

    Parameters
    ----------
    shop : Shop
        For its finishes.
    key : str
        The finish without.
    """
    base = shop.finish(key)
    for other, finish in shop.finishes.items():
        one_more = len(finish.coats) == len(base.coats) + 1 and finish.colours == base.colours + 1
        if one_more and finish.line == base.line:
            return other
    return None


def clear_powder(shop: Shop, named: Sequence[str] = ()) -> str | None:
    """Give the clear powder that was named, else the shop's first; None where there is none."""
    for name in (*named, *shop.powders):
        if name in shop.powders and shop.powders[name].kind == "clear":
            return name
    return None


def choices_of(shop: Shop, job: Job) -> list[Choice]:
    """Give the finishes a customer may choose from, the job's own among them.

    Parameters
    ----------
    shop : Shop
        For its finishes and powders.
    job : Job
        Whose colours are used; two-tone is offered where it names two.

    Returns
    -------
    list of Choice
        In the order of ``finishes.toml``; a line is offered in one way only: the job's own, else the
        first way the shop has.
    """
    colours = [name for name in job.powders if shop.powder(name).kind != "clear"]
    clear = clear_powder(shop, job.powders)
    own = shop.finish(job.finish)
    way = own.line if own.line != "none" else next((f.line for f in shop.finishes.values() if f.line != "none"), "none")
    found = []
    for key, finish in shop.finishes.items():
        more = finish.colours - tones(finish)
        if key == job.finish:
            found.append(Choice(key, job.powders[: finish.colours]))
        elif finish.line in {"none", way} and len(colours) >= tones(finish) and (more == 0 or (more == 1 and clear)):
            on_top = (clear,) if more and clear else ()
            found.append(Choice(key, (*colours[: tones(finish)], *on_top)))
    return found
