"""Film and powder: refusals."""

import numpy as np
import pytest

from pricing.basis.errors import BadInput
from pricing.physics import film


def test_every_bad_value_is_told_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        film.powder_kg(-1.0, film_um=float("nan"), density_g_per_cm3=1.5, utilisation=0.6)
    assert str(caught.value) == (
        "powder needs mending:\n  area_m2 is -1.0; it must be 0 or more.\n  film_um is nan; it must be 0 or more."
    )


def test_a_share_in_per_cent_is_sent_back() -> None:
    with pytest.raises(BadInput, match=r"utilisation is 60\.0; it must be at most 1\. Write 60 % as 0\.60\."):
        film.powder_kg(1.0, film_um=80.0, density_g_per_cm3=1.5, utilisation=60.0)


def test_all_of_the_powder_may_land_and_no_more() -> None:
    whole = {"film_um": 80.0, "density_g_per_cm3": 1.5}
    for one in (1.0, np.array([1.0, 0.5])):
        assert np.max(np.asarray(film.powder_kg(10.0, utilisation=one, **whole)) * one) == pytest.approx(1.2)
    for more in (1.001, np.array([0.5, 1.001])):
        with pytest.raises(BadInput, match=r"utilisation is 1\.001; it must be at most 1\."):
            film.powder_kg(10.0, utilisation=more, **whole)
