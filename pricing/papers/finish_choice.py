"""Which finishes a customer may choose from, and in which powders: single-tone, two-tone, with clear coat."""

from collections.abc import Sequence
from typing import NamedTuple

from pricing.parts.job import Job
from pricing.prices.colours import clear_powders, colours_of
from pricing.shop.shop import Shop


class FinishChoice(NamedTuple):
    """One finish with its powders, in the order of the finish's colours."""

    key: str
    powders: tuple[str, ...]


def choices_of(shop: Shop, job: Job) -> list[FinishChoice]:
    """Collect the finishes a customer may choose from, the job's own among them.

    Parameters
    ----------
    shop : Shop
        For its finishes and powders.
    job : Job
        Whose colours are used; two-tone is offered where it names two.

    Returns
    -------
    list of FinishChoice
        In the order of ``finishes.toml``; a line is offered in one way only: the job's own, else the
        first way the shop has.
    """
    colours = [name for name in job.powders if shop.powder(name).kind != "clear"]
    clear = _clear(shop, job.powders)
    own = shop.finish(job.finish)
    way = own.line if own.line != "none" else next((f.line for f in shop.finishes.values() if f.line != "none"), "none")
    found = []
    for key, finish in shop.finishes.items():
        tones = colours_of(finish)
        more = finish.colours - tones
        if key == job.finish:
            found.append(FinishChoice(key, job.powders[: finish.colours]))
        elif finish.line in {"none", way} and len(colours) >= tones and (more == 0 or (more == 1 and clear)):
            on_top = (clear,) if more and clear else ()
            found.append(FinishChoice(key, (*colours[:tones], *on_top)))
    return found


def _clear(shop: Shop, named: Sequence[str]) -> str | None:
    """The clear powder that was named, else the shop's first; None where there is none."""
    names = [powder.name for powder in clear_powders(shop)]
    return next((name for name in (*named, *names) if name in names), None)
