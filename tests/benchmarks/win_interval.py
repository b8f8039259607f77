"""Does the interval of the win curve keep its word where kinds of work differ? Made-up shops, 12, 60 and 200 quotes.

    python -m tests.benchmarks.win_interval

Each shop has a level and a slope as they are believed before any quote, ten kinds of work asked for more and less
often, and prices that spread. ``the curve`` is that of a kind like the mean of all; 95 of 100 intervals should hold it.
"""

import numpy as np

from pricing.ledger.winning import Winning, believed, winning

SHOPS, KINDS, SPREAD = 400, 10, 0.2


def covered(quotes: int, apart: float, seed: int) -> tuple[float, float]:
    """Work out how many of the intervals hold the truth, and how wide they are in the middle, as shares."""
    (level, slope), precision = believed(["win.level", "win.slope"])
    hit, wide, at = [], [], np.exp(np.array([-0.2, 0.0, 0.2]))
    for shop in range(SHOPS):
        draw = np.random.default_rng([seed, shop])
        mine = draw.normal([level, slope], precision**-0.5)
        kind = draw.choice(KINDS, quotes, p=np.arange(1, KINDS + 1) / (KINDS * (KINDS + 1) / 2))
        near = np.exp(draw.normal(0.0, SPREAD, quotes))
        odds = mine[0] + draw.normal(0.0, apart, KINDS)[kind] + mine[1] * np.log(near)
        found = winning(near, draw.random(quotes) < 1 / (1 + np.exp(-odds)), [(f"kind {one}",) for one in kind])
        assert isinstance(found, Winning)
        true = 1 / (1 + np.exp(-(mine[0] + mine[1] * np.log(at))))
        _, low, high = found.chance(at)
        hit.append((low <= true) & (true <= high))
        wide.append(high[1] - low[1])
    return float(np.mean(hit)), float(np.mean(wide))


def main() -> None:
    for apart in (0.0, 0.5, 1.0):
        for quotes in (12, 60, 200):
            share, wide = covered(quotes, apart, seed=4)
            error = np.sqrt(share * (1 - share) / SHOPS)
            print(
                f"kinds {apart:.1f} apart in log odds, {quotes:3d} quotes: {share:.1%} of 95 % intervals hold the curve"
                f" (standard error at most {error:.1%}), {wide:.2f} wide at the usual price"
            )


if __name__ == "__main__":
    main()
