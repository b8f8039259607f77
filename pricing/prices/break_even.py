"""Where a price begins to pay: solved for any one number, smooth or whole.

Takes    the gain (price less full cost) as a function of the number asked about.
Gives    every place where it turns from loss to gain or back, marked where it is a jump (one more
         oven load, one more pack); and when there is none, that, in words: how near it comes.
Why      whole loads make saw-teeth: 12 parts may pay, 13 not, 19 again. A single "break-even
         batch" would hide that, so whole numbers are scanned one by one and smooth ones first
         looked over, then solved inside each bracket.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.basis.units import sig

Gain: TypeAlias = Callable[[npt.NDArray[np.float64]], Floats]
"""From values of the number asked about to price less full cost; takes an array, gives an array."""

POINTS = 1025
"""Places that are looked at before solving; two turns between neighbours would be missed."""
MOST_WHOLE = 100_000
_JUMP = 1e-6  # of the largest gain; a smooth gain is nearer to nothing than that where it turns


class Turn(NamedTuple):
    """A place where gain and loss meet; ``pays_above`` tells on which side the gain is."""

    value: float
    pays_above: bool
    jump: bool


@dataclass(frozen=True)
class BreakEven:
    """Where a smooth number breaks even.

    Parameters
    ----------
    what, unit : str
        Name and unit of the number, for the words.
    low, high : float
        Between which it was looked for.
    turns : tuple of Turn
        Rising; empty when it pays, or does not, all the way.
    best_at, best_gain : float
        Where the gain is largest, and how large. [money]
    pays_at_low : bool
        Whether the lowest value pays.
    """

    what: str
    unit: str
    low: float
    high: float
    turns: tuple[Turn, ...]
    best_at: float
    best_gain: float
    pays_at_low: bool

    @property
    def value(self) -> float | None:
        """The break-even value where there is just one, else None."""
        return self.turns[0].value if len(self.turns) == 1 else None

    def say(self, currency: str = "", *, measure: Callable[[float], str] | None = None) -> str:
        """Say it in words; ``measure`` writes a value of the number, without it four digits and ``unit`` do."""
        write = measure or (lambda value: f"{sig(value, 4)} {self.unit}".rstrip())
        span = f"from {write(self.low)} to {write(self.high)}"
        if not self.turns:
            if self.pays_at_low:
                return f"It pays at every {self.what} {span}."
            short = f"{-self.best_gain:.2f} {currency}".rstrip()
            return f"No {self.what} {span} reaches it: even at {write(self.best_at)} it is {short} short."
        told = []
        for turn in self.turns:
            way = "from {} up" if turn.pays_above else "up to {}"
            because = " (a jump: one more whole load or pack)" if turn.jump else ""
            told.append(way.format(write(turn.value)) + because)
        return f"By {self.what}, it pays {' and '.join(told)}."


def solved_break_even(gain: Gain, what: str, *, unit: str, low: float, high: float) -> BreakEven:
    """Solve for the number at which a price just covers its cost.

    Parameters
    ----------
    gain : callable
        From an array of values to price less full cost. [money]
    what, unit : str
        Name and unit of the number, for the words.
    low, high : float
        Between which it is looked for.

    Returns
    -------
    BreakEven
        All turns in the range, each to the last bits of a float.

    Raises
    ------
    BadInput
        The range is empty, or the gain is not finite somewhere in it.

    Examples
    --------
    >>> print(solved_break_even(lambda wipe: 90 - 60 - 7.6 * wipe, "wiping", unit="min/m", low=0, high=10).say("EUR"))
    By wiping, it pays up to 3.947 min/m.
    >>> print(solved_break_even(lambda wipe: 50 - 60 - 7.6 * wipe, "wiping", unit="min/m", low=0, high=10).say("EUR"))
    No wiping from 0 min/m to 10 min/m reaches it: even at 0 min/m it is 10.00 EUR short.
    """
    if not -np.inf < low < high < np.inf:
        accepts = "a range that rises"
        raise BadInput("break-even", [Problem(what, f"{low} to {high}", accepts, "Give the lower end first.")])
    at = np.linspace(low, high, POINTS)
    gains = np.broadcast_to(np.asarray(gain(at), dtype=np.float64), at.shape)
    if not np.isfinite(gains).all():
        where = float(at[~np.isfinite(gains)][0])
        raise BadInput("break-even", [Problem(what, where, "a value that can be costed", "Narrow the range.")])
    pays = gains >= 0
    tiny = _JUMP * float(np.abs(gains).max())
    turns = [_turn(gain, at[i], at[i + 1], tiny) for i in np.flatnonzero(pays[1:] != pays[:-1])]
    best = int(gains.argmax())
    return BreakEven(what, unit, low, high, tuple(turns), float(at[best]), float(gains[best]), bool(pays[0]))


def _turn(gain: Gain, low: float, high: float, tiny: float) -> Turn:
    from scipy.optimize import brentq  # heavy: only where a turn was found

    def at(value: float) -> float:
        return float(np.asarray(gain(np.array([value]))).reshape(-1)[0])

    pays_above = at(low) < 0
    root = float(brentq(at, low, high, xtol=1e-12 * max(1.0, abs(high)), rtol=8.9e-16))
    step = 1e-9 * max(1.0, abs(root))
    jump = abs(at(min(high, root + step)) - at(max(low, root - step))) > max(tiny, 1e-9)
    return Turn(root, pays_above, jump)


@dataclass(frozen=True)
class WholeBreakEven:
    """Which whole numbers pay.

    Parameters
    ----------
    what : str
        Name of the number, for the words.
    counts : (n,) array
        Numbers scanned, rising by 1.
    gains : (n,) array
        Gain at each. [money]
    each : (n,) array
        Cost of one, for the words. [money]
    """

    what: str
    counts: npt.NDArray[np.int64]
    gains: npt.NDArray[np.float64]
    each: npt.NDArray[np.float64]

    @property
    def runs(self) -> tuple[tuple[int, int], ...]:
        """First and last of each run of numbers that pay."""
        pays = np.concatenate([[False], self.gains >= 0, [False]])
        edges = np.flatnonzero(pays[1:] != pays[:-1])
        return tuple(
            (int(self.counts[a]), int(self.counts[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True)
        )

    @property
    def first(self) -> int | None:
        """Smallest number that pays; a larger one need not."""
        return self.runs[0][0] if self.runs else None

    @property
    def always_from(self) -> int | None:
        """From where on every number scanned pays."""
        last = int(self.counts[-1])
        return self.runs[-1][0] if self.runs and self.runs[-1][1] == last else None

    @property
    def teeth(self) -> tuple[int, ...]:
        """Numbers at which one costs more than with one fewer: a new load or pack has begun."""
        rises = np.flatnonzero(np.diff(self.each) > 1e-9 * np.abs(self.each[:-1])) + 1
        return tuple(int(self.counts[i]) for i in rises)

    def say(self, currency: str = "") -> str:
        """Say it in words, with a code behind amounts."""
        last = int(self.counts[-1])
        if not self.runs:
            best = int(self.each.argmin())
            cost = f"{self.each[best]:.2f} {currency}".rstrip()
            return f"No {self.what} up to {last} reaches it: even at {int(self.counts[best])} each costs {cost}."
        told = [_run(a, b, last) for a, b in self.runs]
        text = f"By {self.what}, it pays {_listed(told)} (looked at up to {last})."
        loses = dict(zip(self.counts.tolist(), self.gains < 0, strict=True))
        lost = [tooth for tooth in self.teeth if self.first and tooth > self.first and loses[tooth]]
        if lost:
            text += f" At {_listed([str(n) for n in lost[:4]])} a new load or pack begins and the gain is gone again."
        return text


def whole_break_even(
    gain: Callable[[int], float], each: Callable[[int], float], what: str, *, most: int, least: int = 1
) -> WholeBreakEven:
    """Scan whole numbers one by one.

    Parameters
    ----------
    gain : callable
        From a whole number to price less full cost. [money]
    each : callable
        From a whole number to the cost of one. [money]
    what : str
        Name of the number, for the words.
    most, least : int
        Last and first number looked at.

    Returns
    -------
    WholeBreakEven
        Every number with its gain; nothing is smoothed.

    Raises
    ------
    BadInput
        The range is empty or longer than 100,000.

    Examples
    --------
    >>> cost = lambda n: 35 + 22 * n + 40 * (-(-n // 12))  # one load takes 12
    >>> found = whole_break_even(lambda n: 30 * n - cost(n), lambda n: cost(n) / n, "batch size", most=30)
    >>> found.runs, found.first, found.always_from, found.teeth
    (((10, 12), (15, 30)), 10, 15, (13, 25))
    """
    if not (0 <= least <= most and most - least < MOST_WHOLE):
        accepts = f"a range of at most {MOST_WHOLE:,} numbers"
        raise BadInput("break-even", [Problem(what, f"{least} to {most}", accepts)])
    counts = np.arange(least, most + 1)
    gains = np.array([gain(int(n)) for n in counts], dtype=np.float64)
    costs = np.array([each(int(n)) for n in counts], dtype=np.float64)
    return WholeBreakEven(what, counts, gains, costs)


def _run(first: int, end: int, last: int) -> str:
    if end == last:
        return f"from {first} on"
    return f"at {first}" if first == end else f"from {first} to {end}"


def _listed(words: Sequence[str]) -> str:
    *head, end = words
    return f"{', '.join(head)} and {end}" if head else end
