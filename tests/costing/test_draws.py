"""Draws: right distributions, and the same bits for any chunk, order or worker."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from pricing.basis.errors import BadInput
from pricing.costing.draws import BLOCK, Known, Sampler
from pricing.costing.job_cost import failures
from pricing.costing.strata import STRATA, mean_of, strata
from pricing.shop.rates import Z95


def points(low: float, likely: float, high: float, shape: str = "pert") -> Any:
    return SimpleNamespace(low=low, likely=likely, high=high, shape=shape)


def reference(p: Any) -> Any:
    """The same number in the reference library."""
    wide = p.high - p.low
    mode = (p.likely - p.low) / wide
    if p.shape == "pert":
        return stats.beta(1 + 4 * mode, 5 - 4 * mode, p.low, wide)
    return stats.lognorm(np.log(p.high / p.low) / (2 * Z95), scale=p.likely)


SHAPES = [
    points(2, 3.5, 8),
    points(0, 0, 1),
    points(0, 1, 1),
    points(1, 1.02, 3),
    points(5, 8, 14),
    points(-2, -2, 2),
    points(-1, 2, 2),
    points(20, 40, 80, "lognormal"),
    points(9.9, 10, 10.1, "lognormal"),
]


@pytest.mark.parametrize("p", SHAPES, ids=str)
def test_a_table_has_the_moments_of_the_reference_library(p: Any) -> None:
    table, known = strata(p), reference(p)
    assert table.mean() == pytest.approx(known.mean(), rel=1e-8)
    assert mean_of(p) == pytest.approx(known.mean(), rel=1e-12)
    assert table.std() == pytest.approx(known.std(), rel=2.5e-4)
    assert table.std() <= known.std() * (1 + 1e-9)  # slice means cannot be wider than the number


@pytest.mark.parametrize("p", SHAPES, ids=str)
def test_each_slice_mean_lies_in_its_slice(p: Any) -> None:
    table = strata(p)
    edges = reference(p).ppf(np.arange(STRATA + 1) / STRATA)
    slack = 1e-9 * (p.high - p.low)
    assert (table >= edges[:-1] - slack).all()
    assert (table <= edges[1:] + slack).all()
    assert (np.diff(table) > 0).all()


@given(st.floats(0, 1), st.floats(0.001, 50), st.floats(0, 1))
@settings(max_examples=30, deadline=None)
def test_slices_of_any_beta_pert_agree_with_the_reference_library(low: float, wide: float, mode: float) -> None:
    p = points(low, low + mode * wide, low + wide)
    known = reference(p)
    table = strata(p)
    for slice_ in (0, 7, 8, 2047, 4095):
        a, b = slice_ / STRATA, (slice_ + 1) / STRATA
        mean = quad(known.ppf, a, b, epsabs=1e-14, epsrel=1e-10)[0] * STRATA
        assert table[slice_] == pytest.approx(mean, abs=3e-8 * wide + 1e-12)


def test_bad_points_are_told() -> None:
    with pytest.raises(BadInput, match=r"low, likely, high is \(3, 2, 4\); it must be three numbers that rise"):
        strata(points(3, 2, 4))


KNOWN = Known({f"rate.{i}": p for i, p in enumerate(SHAPES)} | {"sure": points(3, 3, 3)}, {"hour": 40.0})


@given(st.integers(0, 2**62), st.permutations(range(6)), st.integers(1, 3))
@settings(max_examples=15, deadline=None)
def test_bits_do_not_depend_on_chunk_or_order(seed: int, order: list[int], chunk: int) -> None:
    whole = Sampler(KNOWN, seed).block(0, 6)
    pieces = Sampler(KNOWN, seed)
    for key in ("rate.0", "rate.7", "luck.redo"):
        for first in order:
            blocks = min(chunk, 6 - first)
            got = pieces.block(first, blocks)[key]
            assert np.array_equal(got, whole[key][first * BLOCK : (first + blocks) * BLOCK])  # type: ignore[index]


def test_a_new_assumption_does_not_move_the_draws_of_the_others() -> None:
    fewer = Known({"rate.0": SHAPES[0]})
    assert np.array_equal(Sampler(fewer, 5).block(0)["rate.0"], Sampler(KNOWN, 5).block(0)["rate.0"])


def test_streams_seeds_and_keys_are_independent() -> None:
    same = Known({"a": SHAPES[0], "b": SHAPES[0]})
    base = Sampler(same, 1).block(0, 8)
    others = [
        Sampler(same, 1).block(0, 8)["b"],
        Sampler(same, 2).block(0, 8)["a"],
        Sampler(same, 1, stream=1).block(0, 8)["a"],
    ]
    for other in others:
        assert abs(np.corrcoef(base["a"], other)[0, 1]) < 4 / np.sqrt(8 * BLOCK)


def test_draws_pass_a_chi_square_test_of_their_slices() -> None:
    drawn = Sampler(KNOWN, 11).block(0, 40)["rate.0"]
    counts = np.bincount(np.searchsorted(strata(SHAPES[0]), drawn), minlength=STRATA)
    assert stats.chisquare(counts).pvalue > 1e-4


def test_certain_numbers_stay_numbers() -> None:
    draws = Sampler(KNOWN, 1).block(0)
    assert draws["sure"] == 3.0
    assert draws["hour"] == 40.0
    assert "luck.anything" in draws
    assert "nothing" not in draws
    assert draws["rate.1"].shape == (BLOCK,)  # type: ignore[union-attr]
    assert draws.asked == ("rate.1",)
    assert set(draws) == {*KNOWN.uncertain, "hour"}
    assert len(draws) == len(KNOWN.uncertain) + 1


def test_numbers_made_certain_leave_the_other_draws_alone() -> None:
    fixed = KNOWN.fixed({"rate.0": 4.0})
    assert Sampler(fixed, 1).block(0)["rate.0"] == 4.0
    assert np.array_equal(Sampler(fixed, 1).block(0)["rate.7"], Sampler(KNOWN, 1).block(0)["rate.7"])
    assert fixed.means()["rate.0"] == 4.0
    assert KNOWN.means()["rate.0"] == pytest.approx(4.0)


@pytest.mark.parametrize("seed", [-1, 1.5, True, "7"])
def test_a_bad_seed_is_told(seed: Any) -> None:
    with pytest.raises(BadInput, match=r"seed is .*; it must be a whole number from 0"):
        Sampler(KNOWN, seed)


@given(st.integers(1, 2000), st.floats(0, 0.6), st.floats(1e-6, 1 - 1e-6))
@settings(max_examples=200, deadline=None)
def test_failures_are_the_inverse_of_the_reference_library(good: int, chance: float, luck: float) -> None:
    ours = float(failures(good, chance, luck))
    known = stats.nbinom(good, 1 - chance)
    assert known.cdf(ours) >= luck * (1 - 1e-9)
    assert ours == 0 or known.cdf(ours - 1) <= luck * (1 + 1e-9)


def test_failures_have_the_mean_and_variance_of_the_negative_binomial() -> None:
    luck = Sampler(Known({}), 4).block(0, 60)["luck.redo"]
    counts = np.asarray(failures(9, np.full(60 * BLOCK, 0.08), luck))
    assert counts.mean() == pytest.approx(9 * 0.08 / 0.92, rel=0.005)
    assert counts.var() == pytest.approx(9 * 0.08 / 0.92**2, rel=0.02)
    assert np.array_equal(counts, np.round(counts))


def test_failures_tell_what_is_wrong() -> None:
    with pytest.raises(BadInput, match=r"chance is 1\.0; it must be from 0 to below 1"):
        failures(1.5, 1.0, 0.5)
