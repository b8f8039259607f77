"""Film and powder: refusals and round trips."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.physics import film

shares = st.floats(0.01, 1.0)


@given(shares, st.floats(0.0, 1.0))
def test_utilisation_equals_the_rounds_it_sums(transfer: float, reclaim: float) -> None:
    sprayed, landed = 1.0, 0.0
    for _ in range(20_000):
        landed += sprayed * transfer
        sprayed *= (1 - transfer) * reclaim
        if sprayed < 1e-12:
            break
    assert film.utilisation(transfer, reclaim) == pytest.approx(landed, rel=1e-6)


@given(st.floats(0, 100), st.floats(1, 500), st.floats(0.5, 3), shares)
def test_powder_covers_what_it_was_bought_for(area: float, um: float, density: float, use: float) -> None:
    kg = film.powder_kg(area, film_um=um, density_g_per_cm3=density, utilisation=use)
    covered = kg * film.coverage_m2_per_kg(um, density, utilisation=use)
    assert covered == pytest.approx(area, rel=1e-12)


def test_every_bad_value_is_told_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        film.powder_kg(-1.0, film_um=float("nan"), density_g_per_cm3=1.5, utilisation=0.6)
    assert str(caught.value) == (
        "powder needs mending:\n  area_m2 is -1.0; it must be 0 or more.\n  film_um is nan; it must be 0 or more."
    )


def test_a_share_in_per_cent_is_sent_back() -> None:
    with pytest.raises(BadInput, match=r"transfer_share is 60\.0; it must be at most 1\. Write 60 % as 0\.60\."):
        film.utilisation(60)


def test_a_part_cannot_gain_more_than_was_sprayed() -> None:
    with pytest.raises(BadInput, match=r"gained_g is 120\.0; it must be at most the powder sprayed\."):
        film.transfer_share(100.0, 120.0)


def test_a_recipe_needs_as_many_densities_as_shares() -> None:
    with pytest.raises(BadInput, match=r"as many as there are mass shares \(2, at least 1\)"):
        film.blend_density_g_per_cm3([0.5, 0.5], [1.2])


def test_readings_are_judged_along_the_last_axis() -> None:
    passed = film.film_accepted([[82, 68, 75], [57, 60, 59]], np.array([60.0, 60.0]), single_share=0.8)
    assert passed.tolist() == [True, False]
    with pytest.raises(BadInput, match="at least one reading"):
        film.film_accepted([], 60, single_share=0.8)
