"""The rows against what their sources print. Each check names the source and the place in it."""

import csv
import math

import pytest

from ramet.domain.words import Form
from ramet.reference.calcification import (
    alkalinity_use_meq_cm2_d,
    branching_production_g_cm2_yr,
    derived_rows,
    mounding_production_g_cm2_yr,
    plating_production_g_cm2_yr,
    read_basis,
)
from ramet.reference.tables import DATA, Reference

# NOAA ESD table (Barkley 2023, doi 10.25923/g4hg-7686), worked by hand from its rows with the
# ReefBudget geometry on 10 cm of contour: genus, form, g CaCO3/cm²/yr, meq/cm²/d, as rounded there.
WORKED = [
    ("Acropora", "table", 5.13, 0.281),
    ("Acanthastrea", "massive", 2.48, 0.136),
    ("Alveopora", "encrusting", 0.59, 0.032),
    ("Caulastraea", "phaceloid", 1.32, 0.072),
    ("Cyphastrea", "encrusting", 0.11, 0.006),
    ("Echinophyllia", "plating", 1.11, 0.061),
    ("Euphyllia", "phaceloid", 0.63, 0.035),
    ("Favites", "massive", 0.99, 0.054),
    ("Fungia", "fleshy", 2.77, 0.152),
    ("Galaxea", "massive", 1.09, 0.060),
    ("Goniastrea", "massive", 1.14, 0.062),
    ("Heliopora", "branching", 0.70, 0.038),
    ("Hydnophora", "branching", 0.47, 0.026),
    ("Lobophyllia", "fleshy", 1.82, 0.099),
    ("Merulina", "plating", 1.33, 0.073),
    ("Millepora", "branching", 0.92, 0.051),
    ("Montipora", "branching", 0.96, 0.053),
    ("Montipora", "plating", 0.82, 0.045),
    ("Pavona", "plating", 1.22, 0.067),
    ("Pavona", "massive", 2.08, 0.114),
    ("Platygyra", "massive", 1.08, 0.059),
    ("Pocillopora", "branching", 1.19, 0.065),
    ("Porites", "branching", 1.02, 0.056),
    ("Porites", "columnar", 0.41, 0.023),
    ("Porites", "massive", 1.69, 0.092),
    ("Seriatopora", "branching", 0.36, 0.020),
    ("Stylophora", "branching", 0.97, 0.053),
    ("Turbinaria", "plating", 0.44, 0.024),
]


def test_mounding_production_of_the_worked_porites() -> None:
    # ReefBudget geometry, Porites of the NOAA table, x = 10 cm: 1.687 g/cm²/yr, 4.62 mg/cm²/d; ±0.5 %
    # for the three printed digits.
    production = mounding_production_g_cm2_yr(1.091, 1.32, 10)
    assert production == pytest.approx(1.687, rel=5e-3)
    assert production / 365 * 1000 == pytest.approx(4.62, rel=5e-3)


def test_branching_production_of_the_worked_acropora() -> None:
    # The same source, fast-growing branching Acropora: 1.342 g/cm²/yr; ±0.5 % as above.
    assert branching_production_g_cm2_yr(8.638, 1.015, 0.059) == pytest.approx(1.342, rel=5e-3)


def test_a_mound_of_endless_radius_grows_like_a_plane() -> None:
    # Limit of the geometry: on a flat face production is extension times density.
    assert mounding_production_g_cm2_yr(1, 1.5, 1e6) == pytest.approx(1.5, rel=1e-4)


def test_a_plate_without_margins_thickens_by_a_tenth() -> None:
    assert plating_production_g_cm2_yr(1, 1.5, 1e9) == pytest.approx(0.15, rel=1e-6)


def test_one_mole_of_carbonate_takes_two_equivalents() -> None:
    # Definition: 100.087 g CaCO3 a year is 2000 meq a year.
    assert alkalinity_use_meq_cm2_d(100.087) == pytest.approx(2000 / 365)


@pytest.mark.parametrize(("genus", "form", "g_cm2_yr", "meq_cm2_d"), WORKED)
def test_calcification_rows_are_those_of_the_noaa_table(
    reference: Reference, genus: str, form: str, g_cm2_yr: float, meq_cm2_d: float
) -> None:
    fact = reference.trait(genus, Form(form), "calcification_meq_cm2_d")
    # Half a unit of the last printed digit.
    assert fact.band.typical == pytest.approx(meq_cm2_d, abs=0.00055)
    assert fact.band.typical == pytest.approx(alkalinity_use_meq_cm2_d(g_cm2_yr), abs=0.0004)
    assert fact.source == "noaa_esd2023"


def test_the_trait_rows_follow_from_the_basis(reference: Reference) -> None:
    for (genus, form, name), band in derived_rows(read_basis()).items():
        row = reference.traits[genus, form.value, name].band
        for ours, derived in zip(
            (row.low, row.typical, row.high), (band.low, band.typical, band.high), strict=True
        ):
            assert ours == pytest.approx(derived, rel=5e-3), (genus, form, name)  # three digits kept


def test_single_studies_and_proxies_span_half_to_twice(reference: Reference) -> None:
    thin = [row for row in read_basis() if row.support != "several"]
    assert {"Seriatopora", "Turbinaria", "Hydnophora", "Euphyllia"} <= {row.genus for row in thin}
    for row in thin:
        band = reference.traits[row.genus, row.form.value, "calcification_meq_cm2_d"].band
        assert band.high / band.typical == pytest.approx(2, rel=0.01)
        assert band.typical / band.low == pytest.approx(2, rel=0.01)


@pytest.mark.parametrize(
    ("taxon", "form", "mean", "sd"),
    [
        # Carlot et al. 2022, data file of dark respiration, Moorea: mean and sd by species, µmol/cm²/h.
        ("Pocillopora verrucosa", Form.BRANCHING, 1.72, 0.99),
        ("Montipora verrilli", Form.PLATING, 1.52, 1.13),
        ("Porites", Form.MASSIVE, 0.60, 0.40),
        ("Porites irregularis", Form.BRANCHING, 0.51, 0.42),
        ("Acropora hyacinthus", Form.TABLE, 0.50, 0.23),
    ],
)
def test_respiration_spans_a_standard_deviation_round_the_measured_mean(
    reference: Reference, taxon: str, form: Form, mean: float, sd: float
) -> None:
    band = reference.trait(taxon, form, "respiration_umol_cm2_h").band
    assert (band.low, band.typical, band.high) == pytest.approx((mean - sd, mean, mean + sd), abs=0.005)


def test_the_acropora_flatworm_takes_38_days_at_27_and_64_at_24(reference: Reference) -> None:
    # Barton et al. 2019, Front. Mar. Sci. 6:524: minimum generation 38 d at 27 °C, 64 d at 24 °C.
    assert reference.pests["acropora_flatworm"].generation_d == ((24.0, 64.0), (27.0, 38.0))


def test_the_stylophora_mother_gives_a_tenth(reference: Reference) -> None:
    # Epstein, Bak, Rinkevich 2001: more than 10 % of the branches raised donor mortality.
    assert reference.trait("Stylophora pistillata", Form.BRANCHING, "cut_share").band.typical == 0.1


def test_a_leather_cutting_is_15_mm(reference: Reference) -> None:
    # doi 10.15625/1859-3097/18638: 1.5 cm squares did best of 0.5 to 2.5 cm (Sarcophyton).
    assert reference.trait("Sarcophyton", Form.LEATHER, "minimum_piece_mm").band.typical == 15


@pytest.mark.parametrize(
    ("foam", "k_25f", "k_75f", "k_110f"),
    [
        # ASTM C578 property sheets, W/m/K at -4, 24 and 43 °C.
        ("eps_i", 0.0332, 0.0375, 0.0404),
        ("eps_viii", 0.0317, 0.0368, 0.0397),
        ("eps_ii", 0.0303, 0.0346, 0.0375),
        ("eps_ix", 0.0288, 0.0332, 0.0361),
    ],
)
def test_foam_conducts_as_its_property_sheet_says(
    reference: Reference, foam: str, k_25f: float, k_75f: float, k_110f: float
) -> None:
    row = reference.foams[foam]
    assert row.k_w_mk.typical == pytest.approx(k_75f)
    # The slope is that of the R-value booklet; it meets the sheets' other temperatures within 4 %.
    assert row.k_w_mk.typical * (1 - row.k_slope_per_c * 28) == pytest.approx(k_25f, rel=0.04)
    assert row.k_w_mk.typical * (1 + row.k_slope_per_c * 19) == pytest.approx(k_110f, rel=0.04)


@pytest.mark.parametrize(
    ("inches", "litres"),
    [("76x203", 0.191), ("102x254", 0.506), ("127x305", 1.051), ("152x381", 2.077), ("203x381", 3.693)],
)
def test_round_bags_hold_the_flat_width_volume_less_15_percent(
    reference: Reference, inches: str, litres: float
) -> None:
    # Geometry of a tied flat bag, (w²/π)(l − 10 cm), worked by hand in inches; 10 to 20 % is lost to
    # corners and clip (common practice, no source).
    bag = reference.bags[f"round_{inches}"]
    assert bag.closed_l == pytest.approx(0.85 * litres, rel=0.01)
    assert bag.closed_l < bag.flat_width_mm**2 / math.pi * bag.length_mm * 1e-6


def test_heat_packs_give_what_their_iron_can(reference: Reference) -> None:
    # Standard enthalpy of Fe2O3, -824.2 kJ/mol: 7.38 kJ/g of iron. A pack is at most half iron
    # (from memory), so no pack may give more over its hours.
    for pack in reference.packs.values():
        if pack.watts is not None:
            most_j = pack.mass_kg * 1000 * 0.5 * 7380
            assert pack.watts.typical * pack.lasts_h * 3600 <= most_j


def test_ice_melts_with_334_kj_a_kilogram(reference: Reference) -> None:
    # FAO y5013e, chapter 7: 80 kcal/kg, 334 kJ/kg.
    assert reference.packs["ice_250g"].latent_j_kg == 334_000
    assert reference.packs["ice_250g"].latent_j_kg / 4186 == pytest.approx(80, rel=3e-3)


def test_stony_blue_organ_pipe_and_fire_corals_are_listed(reference: Reference) -> None:
    # CITES Appendix II, AC22 Inf. 8: Scleractinia, Helioporidae, Tubiporidae, Milleporidae.
    for name in ("Acropora", "Euphyllia", "Fungia", "Tubastraea", "Heliopora", "Tubipora", "Millepora"):
        assert reference.genera[name].cites == "II"
    # From memory: other soft corals, zoanthids and corallimorphs are not listed.
    for name in ("Sarcophyton", "Sinularia", "Zoanthus", "Palythoa", "Discosoma", "Briareum", "Eunicea"):
        assert reference.genera[name].cites is None


def test_the_species_of_the_2014_listing_are_known(reference: Reference) -> None:
    # 79 FR 53851, 10 September 2014: fifteen Indo-Pacific and five Caribbean species.
    named = {row.taxon for row in reference.listed_species.values() if row.source == "esa2014"}
    assert {"Acropora globiceps", "Seriatopora aculeata", "Orbicella franksi"} <= named
    assert sum(not name.startswith(("Orbicella", "Mycetophyllia")) for name in named) >= 15
    found = reference.listed("acropora  Speciosa")
    assert found is not None
    assert found.status == "threatened"
    assert reference.listed("Acropora millepora") is None


def test_palytoxin_stands_on_zoanthids_alone(reference: Reference) -> None:
    # Hamade et al. 2015, MMWR 64(31):852-855.
    carriers = {genus.name for genus in reference.genera.values() if genus.toxin == "palytoxin"}
    assert carriers == {"Zoanthus", "Palythoa"}


def test_every_toxin_has_its_caution(reference: Reference) -> None:
    codes = {row.code for row in reference.cautions}
    assert {genus.toxin for genus in reference.genera.values() if genus.toxin} <= codes


def test_nothing_is_bagged_within_48_hours_of_a_cut(reference: Reference) -> None:
    # Common practice, no source: a day or two of rest is the floor, not the planning value.
    healing = [fact for key, fact in reference.traits.items() if key[2] == "healing_d"]
    assert all(fact.band.low >= 2 and fact.band.typical > 2 for fact in healing)


def test_the_basis_is_read_from_the_shipped_table() -> None:
    with (DATA / "calcification_basis.csv").open(encoding="utf-8", newline="") as file:
        assert len(list(csv.DictReader(file))) == len(read_basis()) >= 60
