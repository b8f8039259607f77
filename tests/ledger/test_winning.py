"""Won and lost against price, held to a statistics library."""

import warnings

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.ledger.winning import Winning, winning


def _quotes(count: int, slope: float, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    draw = np.random.default_rng(seed)
    ratio = draw.uniform(1.0, 1.9, count)
    return ratio, draw.random(count) < 1 / (1 + np.exp(-(2.0 + slope * np.log(ratio))))


@pytest.mark.parametrize("slope", [-6.0, 0.0, 2.0])
def test_curve_and_interval_agree_with_statsmodels(slope: float) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from statsmodels.api import Logit
    ratio, won = _quotes(220, slope)
    ours = winning(ratio, won)
    assert isinstance(ours, Winning)
    design = np.stack([np.ones_like(ratio), np.log(ratio)], axis=1)
    theirs = Logit(won.astype(float), design).fit(disp=False, tol=1e-12)
    assert [ours.level, ours.slope] == pytest.approx(theirs.params, rel=1e-6)
    assert ours.covariance == pytest.approx(theirs.cov_params(), rel=1e-5)
    at = np.array([1.1, 1.5])
    frame = theirs.get_prediction(np.stack([np.ones(2), np.log(at)], axis=1)).summary_frame(alpha=0.05)
    chance, low, high = ours.chance(at)
    assert chance == pytest.approx(frame["predicted"].to_numpy(), rel=1e-6)
    odds = theirs.params @ np.stack([np.ones(2), np.log(at)])
    assert (low < chance).all()
    assert np.log(high / (1 - high)) + np.log(low / (1 - low)) == pytest.approx(2 * odds, rel=1e-6)


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    inside = []
    for seed in range(300):
        found = winning(*_quotes(150, -5.0, seed))
        assert isinstance(found, Winning)
        _, low, high = found.chance(np.array([1.4]))
        truth = 1 / (1 + np.exp(-(2.0 - 5.0 * np.log(1.4))))
        inside.append(low[0] < truth < high[0])
    assert np.mean(inside) == pytest.approx(0.95, abs=0.03)


def test_too_little_to_say_is_said() -> None:
    ratio, won = _quotes(220, -6.0)
    lost_few = np.concatenate([ratio[won][:40], ratio[~won][:9]])
    assert winning(lost_few, np.arange(49) < 40) == "Too few quotes to say: 40 won and 9 lost; 10 of each are needed."
    same = winning(np.full(40, 1.3), np.arange(40) < 20)
    assert same == "All quotes had the same price over cost: nothing to compare."
    apart = winning(np.linspace(1.0, 2.0, 40), np.arange(40) < 20)
    assert isinstance(apart, str)
    assert apart.startswith("Won and lost quotes do not overlap in price")


def test_the_words_say_which_way_it_goes() -> None:
    words = {slope: winning(*_quotes(400, slope)) for slope in (-6.0, 0.0, 6.0)}
    assert [found.words for found in words.values() if isinstance(found, Winning)] == [
        "Dearer quotes are lost more often.",
        "The log does not show that the price decides.",
        "Dearer quotes are won more often: something else than the price decides.",
    ]


def test_a_price_of_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match=r"price over cost is 0\.0; it must be above 0"):
        winning(np.array([1.0, 0.0]), np.array([True, False]))
