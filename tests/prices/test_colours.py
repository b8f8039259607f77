"""Which colours a row of the list is laid on: of all in a class, one of those kept is the dearest, whatever is coated."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.costing.packs import rest_to_pay_kg
from pricing.physics.film import powder_kg
from pricing.prices.colours import classes, dearest
from pricing.shop.powders import Powder
from pricing.shop.shop import Shop

POWDERS = st.fixed_dictionaries(
    {
        "price_per_kg": st.sampled_from((7.0, 9.0, 12.0)),
        "density_g_per_cm3": st.sampled_from((1.2, 1.5)),
        "film_likely_um": st.sampled_from((70.0, 80.0)),
        "pack_kg": st.sampled_from((5.0, 20.0)),
        "way": st.sampled_from(("stocked", "shared", "passed_on")),
        "uses": st.sampled_from((0.0, 2.0, 50.0)),
        "each_kg": st.sampled_from((0.2, 1.0)),
        "keeps_y": st.sampled_from((0.5, 2.0)),
    }
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(drawn=st.lists(POWDERS, min_size=2, max_size=6), m2=st.floats(0.05, 400.0))
def test_the_dearest_of_a_class_is_among_those_kept(drawn: list[dict[str, Any]], m2: float, shop: Shop) -> None:
    like = shop.powders["jet black"]
    powders = {str(n): like.model_copy(update={"name": str(n), **fields}) for n, fields in enumerate(drawn)}
    new = replace(shop, powders=powders)

    def money(powder: Powder) -> float:
        kg = powder_kg(m2, film_um=powder.film_um, density_g_per_cm3=powder.density_g_per_cm3, utilisation=0.55)
        used = float(kg) + shop.book["powder.purge"]
        return powder.price_per_kg * float(used + rest_to_pay_kg(powder, used, shop.book["powder.hopper"]))

    for name, members in classes(new).items():
        kept = dearest(new, name)
        assert set(kept) <= set(members)
        assert max(map(money, kept)) == pytest.approx(max(map(money, members)), rel=1e-12)
