"""Seeded draws of the rate book: the same numbers for any chunk size, order or number of workers.

Takes    what is known (three points where it is uncertain, a number where it is not) and a seed.
Gives    for any run of blocks of 8,192 rows a mapping like the book of the point quote, with an
         array for each uncertain number. Arrays are drawn when they are asked for, so a job pays only for the
         assumptions it uses.
Streams  one per key, seeded by the key's own name; block b of a stream begins at a fixed place in
         it, and can be reached without drawing what lies before. So a new assumption does not move
         the draws of the others, and two finishes, or two places of a slider, compare draw by draw.
Luck     keys that begin with ``luck.`` give plain uniforms: loops turn them into whole counts.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import blake2b
from typing import Any

import numpy as np
import numpy.typing as npt

from pricing.basis.arrays import Array
from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.costing.strata import ThreePoints, is_certain, mean_of, strata

BLOCK = 8192
"""Rows of a block: its arrays of 64 KB stay in cache, and NumPy's cost per call is spread."""

LUCK = "luck."
"""Prefix of keys that are pure chance, with no assumption behind them."""


@dataclass(frozen=True)
class Known:
    """What is known of the numbers of a model.

    Parameters
    ----------
    uncertain : mapping of str to ThreePoints
        Assumptions by key.
    certain : mapping of str to float
        All other numbers; where a key stands in both, the assumption counts.
    """

    uncertain: Mapping[str, ThreePoints]
    certain: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def drawn(self) -> dict[str, ThreePoints]:
        """Assumptions whose three points are not one number."""
        return {key: points for key, points in self.uncertain.items() if not is_certain(points)}

    @cached_property
    def sure(self) -> dict[str, float]:
        """All other numbers."""
        return {
            **{key: value for key, value in self.certain.items() if key not in self.uncertain},
            **{key: mean_of(points) for key, points in self.uncertain.items() if is_certain(points)},
        }

    def means(self) -> dict[str, float]:
        """Collect the book of the point quote: each assumption at its mean."""
        return {**self.certain, **{key: mean_of(points) for key, points in self.uncertain.items()}}

    def fixed(self, numbers: Mapping[str, float]) -> "Known":
        """Return the same with some numbers made certain; all other draws stay as they are."""
        rest = {key: points for key, points in self.uncertain.items() if key not in numbers}
        return Known(rest, {**self.certain, **numbers})


_MOST_SEED = 2**63


class Sampler:
    """Where draws of a book come from.

    Parameters
    ----------
    known : Known
        Assumptions and fixed numbers.
    seed : int
        Same seed, same draws.
    stream : int
        Another stream of the same seed, independent of the first.
    luck : bool
        False gives no luck, so that loops take what is to be expected of them.

    Raises
    ------
    BadInput
        The seed is not a whole number from 0.
    """

    def __init__(self, known: Known, seed: int, *, stream: int = 0, luck: bool = True) -> None:
        if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed < _MOST_SEED:
            mend = "Keep it, to get the same draws again."
            raise BadInput("draws", [Problem("seed", seed, "a whole number from 0", mend)])
        self.seed, self.stream, self.luck = seed, stream, luck
        self.certain, self.uncertain = known.sure, known.drawn
        self._bits = np.random.PCG64DXSM(0)
        self._streams: dict[str, Any] = {}
        self._tables: dict[tuple[str, float], Array] = {}
        self._pick = np.empty(0, dtype=np.intp)

    def block(self, first: int, blocks: int = 1) -> "Draws":
        """Return the draws of some blocks on end, the first counted from 0, to be drawn when asked for."""
        return Draws(self, first, blocks)

    def is_drawn(self, key: str) -> bool:
        """Tell whether a key is drawn, as an assumption or as luck."""
        return key in self.uncertain or (self.luck and key.startswith(LUCK))

    def drawn(self, key: str, first: int, blocks: int, *, out: Array | None = None, weight: float = 1.0) -> Array:
        """Draw one key for some blocks.

        Parameters
        ----------
        key : str
            An assumption, or luck.
        first, blocks : int
            First block and how many.
        out : (rows,) array, optional
            Where to put them.
        weight : float
            What each is multiplied by.
        """
        start, rows = first * BLOCK, blocks * BLOCK
        out = np.empty(rows) if out is None else out
        if key.startswith(LUCK):
            halves = self.words(key, start // 2, rows // 2).astype("<u8", copy=False).view("<u4")
            np.multiply(np.add(halves, 0.5, out=out), 2.0**-32 * weight, out=out)
            return out
        # 16 bits a draw, of which 12 pick the slice; little end first, on every machine
        lanes = self.words(key, start // 4, rows // 4).astype("<u8", copy=False).view("<u2")
        if self._pick.size != rows:
            self._pick = np.empty(rows, dtype=np.intp)
        np.right_shift(lanes, 4, out=self._pick, casting="unsafe")
        self.table(key, weight).take(self._pick, out=out, mode="wrap")  # wrapping spares the check of bounds
        return out

    def words(self, key: str, first: int, count: int) -> npt.NDArray[np.uint64]:
        """Work out raw words of one key's stream from a place on."""
        begin = self._streams.get(key)
        if begin is None:
            begin = self._streams[key] = self._begin(key)
        self._bits.state = begin
        if first:
            self._bits.advance(first)
        return np.asarray(self._bits.random_raw(count), dtype=np.uint64)

    def table(self, key: str, weight: float = 1.0) -> Array:
        """Work out the strata of one key, times a weight."""
        found = self._tables.get((key, weight))
        if found is None:
            whole = strata(self.uncertain[key])
            found = self._tables[key, weight] = whole if weight == 1.0 else whole * weight
        return found

    def _begin(self, key: str) -> Any:
        """Return where a key's stream begins: a state of the generator, hashed from seed, stream and key.

        Hashing and setting it takes a tenth of the time that making a seeded generator does.
        """
        name = blake2b(f"{self.seed} {self.stream} {key}".encode(), digest_size=32).digest()
        state = {"state": int.from_bytes(name[:16], "little"), "inc": int.from_bytes(name[16:], "little") | 1}
        return {"bit_generator": "PCG64DXSM", "state": state, "has_uint32": 0, "uinteger": 0}


class Draws(Mapping[str, Floats]):
    """Draws of some blocks: a book with arrays in it, filled in as it is read.

    ``asked`` keeps the keys that were read, in order: these are what the model depends on.
    """

    def __init__(self, sampler: Sampler, first: int, blocks: int) -> None:
        self._sampler, self._first, self._blocks = sampler, first, blocks
        self._kept: dict[str, Floats] = {}

    @property
    def rows(self) -> int:
        """Rows of each array."""
        return self._blocks * BLOCK

    @property
    def asked(self) -> tuple[str, ...]:
        """Keys that were read so far and are not certain."""
        return tuple(key for key, value in self._kept.items() if not isinstance(value, float))

    def __getitem__(self, key: str) -> Floats:
        found = self._kept.get(key)
        if found is None:
            if self._sampler.is_drawn(key):
                found = self._sampler.drawn(key, self._first, self._blocks)
            else:
                found = self._sampler.certain[key]
            self._kept[key] = found
        return found

    def __contains__(self, key: object) -> bool:
        return isinstance(key, str) and (self._sampler.is_drawn(key) or key in self._sampler.certain)

    def __iter__(self) -> Iterator[str]:
        return iter({**self._sampler.certain, **self._sampler.uncertain})

    def __len__(self) -> int:
        return len({**self._sampler.certain, **self._sampler.uncertain})
