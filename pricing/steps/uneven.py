"""How attended minutes differ from their rates: by step, by job, by who works, and by what the log leaves open.

Takes    a book; only one that is drawn holds the factors below.
Gives    what the minutes of a step are multiplied with: 1 in a point quote.
Why      a rate is a mean. One job's wiping is harder than another's (``vary``), one job is harder in all its steps
         (``shared.job``), one pair of hands is slower at everything than a guess says (``shared.owner``), and a mean
         from few jobs is not quite the mean (``doubt``). A job loses money by these more often than by a wrong rate.
"""

from typing import Final

from pricing.basis.checks import Floats
from pricing.shop.shop import Book

VARY: Final = "vary."
"""Before a step: how one job's minutes of it differ from another's."""
DOUBT: Final = "doubt."
"""Before a step: how far its mean from the log may be off."""
SHARED_JOB: Final = "shared.job"
"""One factor for all minutes of a job."""
SHARED_OWNER: Final = "shared.owner"
"""One factor for all minutes of all jobs: how fast the owner really is."""


def for_all(factor: Floats, book: Book) -> Floats:
    """Work out what all minutes of a job are multiplied with, beside its own factor."""
    return factor * book[SHARED_JOB] * book[SHARED_OWNER] if SHARED_OWNER in book else factor


def by_step(step: str, hands_min: Floats, book: Book) -> Floats:
    """Work out the minutes of a step, by its rates ``hands_min``, as they come out in this job. [min]."""
    if SHARED_OWNER not in book:
        return hands_min
    for key in (VARY + step, DOUBT + step):
        if key in book:
            hands_min = hands_min * book[key]
    return hands_min
