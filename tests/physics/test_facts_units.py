"""The physics takes each fact in the unit of its row: a row in another unit must not slip in."""

import re

import pytest

from pricing.basis.facts import facts

METALS = "steel|aluminium|stainless|cast_iron|zinc|copper|brass"
WANTED = [
    (rf"({METALS})\.density", "kg/m**3"),
    (rf"({METALS})\.conductivity", "W/m/K"),
    (rf"({METALS}|coated)\.emissivity", "dimensionless"),
    (rf"({METALS}|air)\.cp\.c0", "J/kg/K"),
    (rf"({METALS}|air)\.cp\.c1", "J/kg/K**2"),
    (rf"({METALS}|air)\.cp\.c2", "J/kg/K**3"),
    (rf"({METALS})\.cp\.c3", "J/kg/K**4"),
    (rf"({METALS})\.cp\.to", "degC"),
    (r"(co2|h2o|o2|n2)\.cp\.c0", "J/mol/K"),
    (r"(co2|h2o|o2|n2)\.cp\.c3", "J/mol/K**4"),
    (r"(methane|propane)\.gross|water\.latent", "kJ/mol"),
    (r"air\.gas_constant", "J/kg/K"),
    (r"air\.pressure", "Pa"),
    (r"oven\.(air|inside|outside)_film|shop\.air_film|door\.film", "W/m**2/K"),
    (r"oven\.insulation\.conductivity", "W/m/K"),
    (r"oven\.insulation\.conductivity_slope", "1/K"),
    (r"oven\.skin", "kg/m**2"),
    (r"cure\.activation_energy", "kJ/mol"),
    (r"blasting\.thrown_per_air", "kg/m**3"),
    (r"compressor\.shaft_power", "kW*min/m**3"),
    (r"binder\.\w+(\.heat)?", "MJ/kg"),
    (r"powder\.density", "g/cm**3"),
    (r"(cure|partial_cure|outgas|dry_off|touch)\.metal|burnoff\.(metal|afterburner)|ageing\.\w+", "degC"),
    (r"(cure|partial_cure|outgas|dry_off)\.dwell|burnoff\.(cycle|handling)", "min"),
]


@pytest.mark.parametrize(("names", "unit"), WANTED, ids=[unit + " " + names[:30] for names, unit in WANTED])
def test_facts_stand_in_the_unit_the_physics_takes(names: str, unit: str) -> None:
    found = [fact for name, fact in facts().items() if re.fullmatch(names, name)]
    assert found, names
    assert {fact.unit for fact in found} == {unit}
