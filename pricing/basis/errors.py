"""The one error an owner can meet: everything that is wrong, told at once, in plain words."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import NamedTuple


class Problem(NamedTuple):
    """One bad field, told so that it can be mended without reading code."""

    field: str
    value: object
    accepts: str
    mend: str = ""

    def __str__(self) -> str:
        text = f"{self.field} is {shorten(self.value)}; it must be {self.accepts}."
        return f"{text} {self.mend}".rstrip()


class BadInput(ValueError):
    """All problems of one file or record at once.

    Parameters
    ----------
    where : str
        File or record, as the owner knows it: ``rates.csv``, ``oven 'small'``.
    problems : sequence of Problem
        Every bad field; the widgets show each beside its field.

    Examples
    --------
    >>> print(BadInput("job.toml", [Problem("area", "-2 m2", "above 0 m²", "Measure it again.")]))
    job.toml needs mending:
      area is '-2 m2'; it must be above 0 m². Measure it again.
    """

    def __init__(self, where: str, problems: Sequence[Problem]) -> None:
        self.where, self.problems = where, tuple(problems)
        super().__init__("\n  ".join([f"{where} needs mending:", *map(str, self.problems)]))

    def __reduce__(self) -> tuple[type["BadInput"], tuple[str, tuple[Problem, ...]]]:
        """Travel between processes whole."""
        return type(self), (self.where, self.problems)


@contextmanager
def gathered(where: object) -> Iterator[list[Problem]]:
    """Gather what is wrong with a file or record in a list; at the end of the block all of it is refused at once.

    >>> with gathered("job.toml") as bad: bad.append(Problem("area", "-2 m2", "above 0 m²"))
    Traceback (most recent call last):
    pricing.basis.errors.BadInput: job.toml needs mending:
      area is '-2 m2'; it must be above 0 m².
    """
    bad: list[Problem] = []
    yield bad
    if bad:
        raise BadInput(str(where), bad)


@contextmanager
def told_at(place: str, bad: list[Problem]) -> Iterator[None]:
    """Let what is wrong with a part of a file join the other problems, with its place before each field."""
    try:
        yield
    except BadInput as why:
        bad += [problem._replace(field=f"{place}{problem.field}") for problem in why.problems]


def shorten(value: object, most: int = 60) -> str:
    """Show a value, cut so that a 10 MB line cannot flood the screen."""
    text = repr(value[: most + 1]) if isinstance(value, str) else repr(value)
    return text if len(text) <= most + 2 else f"{text[:most]}…"


def nearest(word: object, words: Iterable[str]) -> str:
    """Guess the word that was meant; empty when nothing is near.

    >>> nearest("gass", ["gas", "electric"])
    "Did you mean 'gas'?"
    >>> nearest("steam", ["gas", "electric"])
    ''
    """
    from difflib import get_close_matches

    near = get_close_matches(str(word)[:80].casefold(), list(words), 1)
    return f"Did you mean {near[0]!r}?" if near else ""


def choices(words: Iterable[str]) -> str:
    """List accepted words as text: 'a, b or c'."""
    *head, last = [str(word) for word in words]
    return f"{', '.join(head)} or {last}" if head else last


def not_known(field: str, value: object, known: Iterable[str]) -> Problem:
    """Tell that a word is none of those that are known, and which was meant."""
    words = list(known)
    return Problem(field, value, choices(words), nearest(value, words))
