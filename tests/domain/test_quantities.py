"""Units against published factors: NIST Special Publication 811 (2008), appendix B.8, and the SI.

Factors in B.8 printed in bold are exact; the others are given to seven digits, so 1e-6 is the tolerance.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.quantities import MEQ_L_PER_DKH, UNITS, to_unit

SP811 = [
    ("1 in", "cm", 2.54),
    ("1 in", "mm", 25.4),
    ("1 ft", "mm", 304.8),
    ("1 lb", "kg", 0.45359237),
    ("1 oz", "g", 28.34952),
    ("1 gal", "l", 3.785412),
    ("1 in2", "cm2", 6.4516),
    ("1 mil", "um", 25.4),
    ("1 in/s", "cm_s", 2.54),
    ("101.325 kPa", "atm", 1.0),
    ("1013.25 mbar", "atm", 1.0),
    ("1 d", "h", 24),
    ("90 min", "h", 1.5),
]


@pytest.mark.parametrize(("text", "unit", "value"), SP811)
def test_factors_are_those_of_nist_sp_811(text: str, unit: str, value: float) -> None:
    assert to_unit(text, unit) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "celsius"), [("32 °F", 0), ("212 °F", 100), ("72 f", 22.2222), ("273.15 K", 0)]
)
def test_temperatures_follow_their_definitions(text: str, celsius: float) -> None:
    """SP 811 B.8: t/°C = (t/°F - 32) / 1.8 and t/°C = T/K - 273.15, both exact."""
    assert to_unit(text, "c") == pytest.approx(celsius, abs=1e-4)


def test_a_degree_of_hardness_is_ten_milligrams_of_calcium_oxide() -> None:
    """1 °dH is 10 mg/L CaO (its definition); CaO is 56.077 g/mol (IUPAC weights), 2 eq a mol."""
    assert pytest.approx(10 / 56.077 * 2, rel=1e-4) == MEQ_L_PER_DKH
    assert to_unit("7 dKH", "meq_l") == pytest.approx(2.4966, rel=1e-4)


def test_calcium_carbonate_is_half_its_molar_mass_a_milliequivalent() -> None:
    """CaCO3 100.087 g/mol (IUPAC weights), 2 eq a mol."""
    assert to_unit("100.087 mg/L CaCO3", "meq_l") == pytest.approx(2.0, rel=1e-4)


@pytest.mark.parametrize("text", ["72°F", " 72 °F ", "72 F", "+72 °f", "72.0 °F", "72. °F", "72.00 °F"])
def test_spaces_and_case_do_not_matter(text: str) -> None:
    assert to_unit(text, "c") == pytest.approx(22.2222, abs=1e-4)


def test_both_signs_for_micro_are_known() -> None:
    assert to_unit("75 \u00b5m", "um") == to_unit("75 \u03bcm", "um") == to_unit("75 um", "um") == 75


@pytest.mark.parametrize(
    "text", ["72", "7 2", " 100 ", "1.5", "-3", "", "°F", "F 72", "72 dkh", "1,5 °F", "1e2 °F"]
)
def test_text_without_a_unit_of_the_kind_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="a unit out of"):
        to_unit(text, "c")


@given(st.sampled_from(sorted(UNITS)), st.data(), st.floats(-1e6, 1e6, allow_nan=False))
def test_every_unit_goes_there_and_back(unit: str, data: st.DataObject, value: float) -> None:
    name = data.draw(st.sampled_from(sorted(UNITS[unit])))
    factor = UNITS[unit][name]
    written = value / factor.scale - factor.shift
    assert to_unit(f"{written:.17f} {name}", unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.sampled_from(sorted(UNITS)), st.data(), st.floats(0, 1e6), st.floats(0, 1e6))
def test_more_stays_more_in_every_unit(unit: str, data: st.DataObject, one: float, other: float) -> None:
    name = data.draw(st.sampled_from(sorted(UNITS[unit])))
    low, high = sorted((one, other))
    assert to_unit(f"{low:.9f} {name}", unit) <= to_unit(f"{high:.9f} {name}", unit)


def test_every_kind_has_its_own_unit_at_scale_one() -> None:
    for unit, names in UNITS.items():
        assert any(one.scale == pytest.approx(1) and one.shift == 0 for one in names.values()), unit
