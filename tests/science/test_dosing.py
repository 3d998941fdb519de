"""How pH moves with what is dosed, against PyCO2SYS; stocks by recipe against published recipes."""

import numpy as np
import PyCO2SYS as pyco2  # noqa: N813
import pytest

from ramet.formats.receiving import SALTS as NAMED_SALTS
from ramet.science.dosing import CARBON_PER_EQUIVALENT, ph_after_addition
from ramet.science.salts import SALTS, strength_of
from ramet.science.seawater import litre_to_kg
from ramet.science.tank import reactor_per_day

PH = 0.002
"""Tolerance in pH against the reference, as everywhere in the carbonate model."""
US_GALLON_L = 3.785411784


GRID = [
    np.ravel(one)
    for one in np.meshgrid([7.7, 8.1, 8.4], [2.0, 2.8, 4.0], [0.0, 0.1, 0.5], [22, 28], [30, 37])
]


def by_reference(carbon):
    """PyCO2SYS with the same constants: Lueker 2000, Dickson 1990, Uppström 1974, total scale."""
    ph, alkalinity, added, temperature_c, salinity = GRID
    kg_l = litre_to_kg(temperature_c, salinity)
    water = {
        "temperature": temperature_c,
        "salinity": salinity,
        "opt_k_carbonic": 10,
        "opt_total_borate": 1,
        "opt_pH_scale": 1,
    }
    before, more = alkalinity * 1000 / kg_l, added * 1000 / kg_l
    dic = pyco2.sys(par1=before, par2=ph, par1_type=1, par2_type=3, **water)["dic"]
    return pyco2.sys(par1=before + more, par2=dic + more * carbon, par1_type=1, par2_type=2, **water)["pH"]


@pytest.mark.parametrize("carrier", ["bicarbonate", "carbonate", "hydroxide"])
def test_ph_after_an_addition_is_that_of_pyco2sys(carrier):
    ph, alkalinity, added, temperature_c, salinity = GRID
    ours = [
        ph_after_addition(*one[:3], carrier, *one[3:])
        for one in zip(ph, alkalinity, added, temperature_c, salinity, strict=True)
    ]
    assert ours == pytest.approx(list(by_reference(CARBON_PER_EQUIVALENT[carrier])), abs=PH)


def test_soda_and_limewater_raise_ph_and_baking_soda_lowers_it_a_little():
    # Common practice and chemistry: carbonate and hydroxide take up CO2, bicarbonate brings its own.
    after = {
        carrier: ph_after_addition(8.1, 2.5, 0.4, carrier, 25, 35)
        for carrier in ("bicarbonate", "carbonate", "hydroxide")
    }
    assert after["bicarbonate"] < 8.1 < after["carbonate"] < after["hydroxide"]
    assert after["bicarbonate"] > 8.0


def test_nothing_added_moves_nothing():
    assert ph_after_addition(8.1, 2.5, 0.0, "carbonate", 25, 35) == pytest.approx(8.1, abs=1e-6)


def test_the_recipes_of_a_well_known_article_give_its_strengths():
    # 594 g NaHCO3 baked to carbonate in a US gallon: 1868 meq/L computed, about 1900 in the article; baking
    # leaves 594 / 84.007 x 105.988 / 2 = 374.7 g of Na2CO3. 500 g CaCl2·2H2O: 36,000 mg/L Ca.
    baked = strength_of({"sodium_carbonate": 594 / 84.007 * 105.988 / 2 / US_GALLON_L})
    assert baked.alkalinity_meq_l == pytest.approx(1868, rel=5e-3)
    calcium = strength_of({"calcium_chloride_dihydrate": 500 / US_GALLON_L})
    assert calcium.calcium_mg_l == pytest.approx(36_000, rel=5e-3)
    # The weak recipe, 297 g and 250 g: 934 meq/L and 18,000 mg/L.
    assert strength_of({"sodium_bicarbonate": 297 / US_GALLON_L}).alkalinity_meq_l == pytest.approx(
        934, rel=5e-3
    )


def test_magnesium_in_its_salts():
    # 24.305 g of magnesium in 203.30 g of MgCl2·6H2O and in 246.47 g of MgSO4·7H2O (molar masses).
    assert strength_of({"magnesium_chloride_hexahydrate": 203.30}).magnesium_mg_l == pytest.approx(24_305)
    assert strength_of({"magnesium_sulfate_heptahydrate": 246.47}).magnesium_mg_l == pytest.approx(24_305)


def test_a_mixed_stock_is_the_sum_of_its_salts():
    both = strength_of({"magnesium_chloride_hexahydrate": 100, "magnesium_sulfate_heptahydrate": 50})
    assert both.magnesium_mg_l == pytest.approx(1000 * 24.305 * (100 / 203.30 + 50 / 246.47))


def test_every_salt_a_file_may_name_is_known():
    assert set(NAMED_SALTS) == set(SALTS)


def test_a_reactor_gives_what_its_outflow_is_richer():
    # 30 mL a minute are 43.2 L a day; 25 - 8 dKH richer: 734.4 dKH·L a day, 3.67 dKH in 200 L.
    assert reactor_per_day(25, 8, 30) / 200 == pytest.approx(3.672)
    assert reactor_per_day(8, 8, 30) == 0
