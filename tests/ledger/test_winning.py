"""Won and lost against price, held to a statistics library."""

import warnings

import numpy as np
import pytest
from scipy.optimize import minimize

from pricing.basis.errors import BadInput
from pricing.ledger.winning import Winning, believed, logistic, winning


def _quotes(count: int, slope: float, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    draw = np.random.default_rng(seed)
    ratio = draw.uniform(1.0, 1.9, count)
    return ratio, draw.random(count) < 1 / (1 + np.exp(-(2.0 + slope * np.log(ratio))))


FLAT = (np.zeros(2), np.zeros(2))


@pytest.mark.parametrize("slope", [-6.0, 0.0, 2.0])
def test_without_a_belief_the_fit_is_that_of_statsmodels(slope: float) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from statsmodels.api import Logit
    ratio, won = _quotes(220, slope)
    design = np.stack([np.ones_like(ratio), np.log(ratio)], axis=1)
    theirs = Logit(won.astype(float), design).fit(disp=False, tol=1e-12)
    beta, covariance = logistic(design, won.astype(float), *FLAT)
    assert beta == pytest.approx(theirs.params, rel=1e-6)
    assert covariance == pytest.approx(theirs.cov_params(), rel=1e-5)


def test_with_a_belief_the_peak_is_that_of_scipy() -> None:
    ratio, won = _quotes(25, -6.0)
    middle = float(np.median(np.log(ratio)))
    centre, precision = believed(["win.level", "win.slope"])

    def unlikely(beta: np.ndarray) -> float:
        odds = beta[0] + beta[1] * (np.log(ratio) - middle)
        return float(np.logaddexp(0, odds).sum() - won @ odds + 0.5 * precision @ (beta - centre) ** 2)

    best = minimize(unlikely, centre, method="BFGS", options={"gtol": 1e-8}).x
    found = winning(ratio, won)
    assert isinstance(found, Winning)
    assert [found.level + found.slope * middle, found.slope] == pytest.approx(list(best), rel=1e-5)


@pytest.mark.parametrize("count", [5, 12, 150])
def test_the_interval_holds_the_truth_as_often_as_it_says(count: int) -> None:
    """Shops as they are believed to be; from five quotes on."""
    inside = []
    for seed in range(400):
        draw = np.random.default_rng([seed, count])
        at, slope = draw.normal(0.4, 1.52), draw.normal(-4.0, 2.13)
        ratio = draw.uniform(1.1, 1.7, count)
        odds = at + slope * np.log(ratio / 1.4)
        found = winning(ratio, draw.random(count) < 1 / (1 + np.exp(-odds)))
        assert isinstance(found, Winning)
        _, low, high = found.chance(np.array([1.4]), 0.9)
        inside.append(bool(low[0] < 1 / (1 + np.exp(-at)) < high[0]))
    assert np.mean(inside) == pytest.approx(0.9, abs=0.045)


def test_kinds_differ_where_there_is_enough_and_stay_together_where_not() -> None:
    draw = np.random.default_rng(3)
    for count, least, most in ((400, 1.0, 2.2), (16, -0.1, 1.4)):
        ratio = draw.uniform(1.1, 1.7, count)
        kinds = [("two-tone",) if one else ("single-tone",) for one in draw.random(count) < 0.5]
        odds = 0.5 - 5 * np.log(ratio / 1.4) + np.array([0.9 if "two-tone" in kind else -0.9 for kind in kinds])
        found = winning(ratio, draw.random(count) < 1 / (1 + np.exp(-odds)), kinds)
        assert isinstance(found, Winning)
        assert least < found.kinds["two-tone"] - found.kinds["single-tone"] < most


def test_work_of_the_list_is_told_apart_beside_one_colour_and_two_as_by_scipy() -> None:
    """Every coefficient of the peak, all beliefs in it; work with few quotes stays near the others."""
    draw = np.random.default_rng(8)
    ratio = draw.uniform(1.1, 1.7, 90)
    kinds = [
        (str(two), str(item))
        for two, item in zip(
            draw.choice(["single-tone", "two-tone"], 90),
            draw.choice(["gate", "wheel", "sign"], 90, p=[0.6, 0.37, 0.03]),
            strict=True,
        )
    ]
    easy = np.array([1.2 if "gate" in one else 0.0 for one in kinds])
    won = draw.random(90) < 1 / (1 + np.exp(-(0.2 - 5 * np.log(ratio / 1.4) + easy)))
    found = winning(ratio, won, kinds)
    assert isinstance(found, Winning)
    assert sorted(found.kinds) == ["gate", "sign", "single-tone", "two-tone", "wheel"]
    assert abs(found.kinds["sign"]) < 0.5 * abs(found.kinds["gate"]), "two signs say next to nothing"
    assert found.kinds["gate"] > found.kinds["wheel"]
    middle = float(np.median(np.log(ratio)))
    columns = np.stack(
        [
            np.ones(90),
            np.log(ratio) - middle,
            *(np.array([name in one for one in kinds], dtype=float) for name in sorted(found.kinds)),
        ],
        axis=1,
    )
    centre, precision = believed(["win.level", "win.slope", *["win.kind"] * 5])

    def unlikely(beta: np.ndarray) -> float:
        odds = columns @ beta
        return float(np.logaddexp(0, odds).sum() - won @ odds + 0.5 * precision @ (beta - centre) ** 2)

    best = minimize(unlikely, centre, method="BFGS", options={"gtol": 1e-8}).x
    assert list(logistic(columns, won.astype(float), centre, precision)[0]) == pytest.approx(
        list(best), rel=1e-4, abs=1e-5
    )
    # how far kinds lie apart is not known either: near to what the spread believed gives, not the same
    ours = [found.level + found.slope * middle, found.slope, *(found.kinds[name] for name in sorted(found.kinds))]
    assert ours == pytest.approx(list(best), abs=0.3)


def test_kinds_that_lie_far_apart_leave_the_curve_less_sure() -> None:
    """The same number of quotes, ten kinds with the same odds or with odds that differ widely."""
    draw = np.random.default_rng(5)
    kind, near, luck = draw.integers(0, 10, 300), np.exp(draw.normal(0.0, 0.2, 300)), draw.random(300)
    errors = []
    for apart in (0.0, 1.5):
        odds = apart * np.linspace(-1, 1, 10)[kind] - 4 * np.log(near)
        found = winning(near, luck < 1 / (1 + np.exp(-odds)), [(f"kind {one}",) for one in kind])
        assert isinstance(found, Winning)
        errors.append(float(np.sqrt(found.covariance[0, 0])))
    assert errors[1] > 1.3 * errors[0]


def test_too_little_to_say_is_said_and_nothing_else_stops_it() -> None:
    ratio, won = _quotes(4, -6.0)
    assert winning(ratio, won) == "Too few quotes to say: 4 won or lost; 5 are needed."
    for odd in (
        winning(np.full(40, 1.3), np.arange(40) < 20),
        winning(np.linspace(1.0, 2.0, 40), np.arange(40) < 20),
        winning(np.linspace(1.0, 1.5, 9), np.ones(9, dtype=bool)),
    ):
        assert isinstance(odd, Winning)
        assert np.isfinite(odd.covariance).all()
        assert odd.slope < 0


def test_the_words_say_which_way_it_goes() -> None:
    words = {slope: winning(*_quotes(6000, slope)) for slope in (-6.0, 0.0, 6.0)}
    assert [found.words.partition(" Page 5")[0] for found in words.values() if isinstance(found, Winning)] == [
        "Dearer quotes are lost more often.",
        "The log does not show that the price decides.",
        "Dearer quotes are won more often: something else than the price decides.",
    ]


def test_a_price_of_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match=r"price over cost is 0\.0; it must be above 0"):
        winning(np.array([1.0, 0.0]), np.array([True, False]))
