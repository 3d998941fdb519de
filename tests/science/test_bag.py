"""Bag water and gas against closed forms, balances and a general integrator."""

import csv
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journey_cases import ON_TIME, PARAMETERS, a_bag, an_animal, low_oxygen, with_typical
from reference_bag import HOLDS, ReferenceBag, hours_to

from ramet.domain.band import exactly
from ramet.science.bag import BagStepper
from ramet.science.batch import batch
from ramet.science.journey import LONG_STEPS_AFTER_H, forecast_at, walked_hours
from ramet.science.packed import Lateness
from ramet.science.scenarios import central, draw
from ramet.science.walk import FIRST_H

QUIET = {
    "q10": 1.0,
    "dark_floor_share": 1.0,
    "respiration": 1.0,
    "half_saturation_share": 1e-9,
    "water_respiration_umol_l_h": 0.0,
    "mucus_umol_cm2": 0.0,
    "film_access": 0.0,
    "kl_carried_cm_h": 1e6,
}
"""Well mixed, gas-tight, constant use: the assumptions of the closed form."""


def walk(bag, parameters, temperature_c, hours, motion=1.0, pressure_atm=1.0, scenarios=None, flows=False):
    """Step one bag through a grid and yield the stepper after each step."""
    scenarios = scenarios or central(ON_TIME)
    at = temperature_c if callable(temperature_c) else lambda _: temperature_c
    known = batch([bag], parameters, scenarios)
    stepper = BagStepper(known, np.full((1, scenarios.count), at(0.0)), flows)
    for before, after in pairwise(hours):
        stepper.step(
            np.full((1, 1), after - before), np.full((1, scenarios.count), at(after)), motion, pressure_atm
        )
        yield stepper


def hold_h(bag, parameters=PARAMETERS, temperature_c=25.0, hours=120.0, scenarios=None, **around):
    grid = np.arange(0, hours + 0.1, 0.5)
    scenarios = scenarios or central(ON_TIME)
    return forecast_at([bag], grid, np.full(grid.size, temperature_c), parameters, scenarios, **around)[0]


# Worked in the facts collected for this project: t = [Vg (C0 - 0.30 C_air) + Vw 0.15] / (R A) mmol, with
# C_air = 8.6 mmol/L, to 2 mg/L (30 % of air saturation), gas-tight and well mixed, 25 °C. The worked
# values take the gas as dry; ours holds 3 % water vapour, hence 4 %.
CLOSED_FORM = [
    ("0.2 L water, 0.4 L air, 30 cm², R 1.0", 0.2, 0.4, 30.0, 1.0, 81.0),
    ("150 cm², R 1.7, 0.5 L water, 1 L air", 0.5, 1.0, 150.0, 1.7, 24.0),
    ("no gas, 0.6 L water, 30 cm², R 1.0", 0.6, 0.0, 30.0, 1.0, 3.0),
]


@pytest.mark.parametrize(("what", "water_l", "gas_l", "area", "rate", "worked_h"), CLOSED_FORM)
def test_gas_tight_bag_lasts_as_long_as_worked_by_hand(what, water_l, gas_l, area, rate, worked_h):
    still = with_typical(**QUIET)
    bag = a_bag(
        water_l,
        gas_l,
        animals=(an_animal(area, exactly(rate)),),
        blank_umol_h=exactly(0.0),
        rigid=True,
        limits=(low_oxygen(0.3 * 6.77),),
    )
    assert hold_h(bag, still)[0] == pytest.approx(worked_h, rel=0.04), what


def test_gas_tight_bag_follows_the_closed_form_exactly():
    still = with_typical(**QUIET)
    bag = a_bag(animals=(an_animal(30.0, exactly(1.0)),), blank_umol_h=exactly(0.0), rigid=True, limits=())
    known = batch([bag], still, central(ON_TIME)).start
    start = float(known.oxygen[0, 0] * batch([bag], still, central(ON_TIME)).water_kg[0, 0])
    start += float(known.oxygen_gas[0, 0])
    grid = np.arange(0, 48.1, 0.5)
    for hours, stepper in zip(grid[1:], walk(bag, still, 25.0, grid), strict=True):
        kg = float(stepper.bags.water_kg[0, 0])
        left = float(stepper.state.oxygen[0, 0] * kg + stepper.state.oxygen_gas[0, 0])
        assert left == pytest.approx(start - 30.0 * hours, rel=1e-6)


def test_acid_of_a_gas_tight_bag_agrees_with_the_worked_table():
    # Worked table of this project's facts (Lueker K1 K2, 25 °C, TA 2.3, start pH 8.05, CaCO3 inert,
    # gas-tight): 0.2 L water and 0.4 L gas with 0.25 mmol of added CO2 reach pH 6.79; with 0.5 mmol 6.44.
    tight = with_typical(
        **QUIET, respiratory_quotient=1.0, skeleton_dissolution_ueq_cm2_h=0.0, bag_calcification_share=0.0
    )
    bag = a_bag(
        animals=(an_animal(30.0, exactly(1.0)),),
        blank_umol_h=exactly(0.0),
        rigid=True,
        alkalinity_meq_l=2.3 * 1.0233,
        limits=(),
    )
    grid = np.arange(0, 16.8, 1 / 6)
    found = {}
    for hours, stepper in zip(grid[1:], walk(bag, tight, 25.0, grid), strict=True):
        found[round(30.0 * hours)] = float(stepper.ph_total[0, 0])
    assert found[250] == pytest.approx(6.79, abs=0.02)
    assert found[500] == pytest.approx(6.44, abs=0.02)


def test_still_water_lags_behind_its_gas_by_use_over_exchange():
    # Worked: 0.030 mmol/h over 80 cm² at kL 2 cm/h leaves water 0.19 mM (6 mg/L) below its gas.
    lagging = with_typical(**{**QUIET, "kl_still_cm_h": 2.0, "kl_carried_cm_h": 12.0})
    bag = a_bag(
        2.0,
        40.0,
        animals=(an_animal(30.0, exactly(1.0)),),
        blank_umol_h=exactly(0.0),
        surface_cm2=80.0,
        oxygen_fraction=0.5,
        limits=(),
    )
    *_, last = walk(bag, lagging, 25.0, np.arange(0, 96.1, 0.5), motion=0.0)
    gas = last.state.oxygen_gas / (last.state.oxygen_gas + last.state.nitrogen_gas + last.state.carbon_gas)
    above = float(gas[0, 0]) / 0.20946 * 6.77
    assert above - float(last.oxygen_mg_l[0, 0]) == pytest.approx(6.0, abs=0.15)


def test_cabin_pressure_lowers_oxygen_in_proportion():
    # Henry's law: at 0.75 atm water in balance with air holds (0.75 - pw) / (1 - pw) of what it does at 1.
    empty = a_bag(animals=(), blank_umol_h=exactly(0.0), limits=())
    calm = with_typical(water_respiration_umol_l_h=0.0, film_access=0.0)
    *_, last = walk(empty, calm, 25.0, np.arange(0, 24.1, 0.5), pressure_atm=0.75)
    vapour = 0.0307  # atm over seawater at 25 °C, Weiss & Price 1980
    assert float(last.oxygen_mg_l[0, 0]) == pytest.approx(6.77 * (0.75 - vapour) / (1 - vapour), rel=0.02)


def test_film_lets_in_what_its_transmission_says():
    # Worked: 0.09 m² of one 75 µm layer (2,600 cm³/m²/d/atm), 16 % oxygen across: 37 cm³/d, 1.5 mmol/d.
    open_film = with_typical(film_o2_cm3_m2_d_atm=7800.0, film_access=1.0, water_respiration_umol_l_h=0.0)
    bag = a_bag(
        0.01,
        50.0,
        animals=(),
        blank_umol_h=exactly(0.0),
        film_area_cm2=900.0,
        oxygen_fraction=0.0495,
        limits=(),
    )
    *_, last = walk(bag, open_film, 23.0, np.arange(0, 24.1, 0.5), flows=True)
    assert -float(last.flows.oxygen_out[0, 0]) == pytest.approx(1650, rel=0.04)


@settings(max_examples=25, deadline=None)
@given(
    water_l=st.floats(0.05, 2.0),
    gas_share=st.floats(0.0, 4.0),
    area=st.floats(1.0, 200.0),
    oxygen=st.floats(0.1, 1.0),
    temperature_c=st.floats(14.0, 33.0),
    rigid=st.booleans(),
)
def test_oxygen_carbon_nitrogen_and_alkalinity_balance(
    water_l, gas_share, area, oxygen, temperature_c, rigid
):
    bag = a_bag(water_l, gas_share * water_l, area, oxygen_fraction=oxygen, rigid=rigid)
    scenarios = draw(PARAMETERS, Lateness(0, 0, 0), 8, 5)
    steps = list(
        walk(bag, PARAMETERS, temperature_c, np.arange(0, 72.1, 0.5), scenarios=scenarios, flows=True)
    )
    last, start = steps[-1], steps[-1].bags.start
    s, f, kg = last.state, last.flows, last.bags.water_kg
    quotient = last.bags.quotient
    oxygen_gap = kg * (s.oxygen - start.oxygen) + s.oxygen_gas - start.oxygen_gas + f.respired + f.oxygen_out
    carbon_gap = kg * (s.carbon - start.carbon) + s.carbon_gas - start.carbon_gas
    carbon_gap = carbon_gap - quotient * f.respired + f.carbon_out - 0.5 * f.skeleton_ueq
    nitrogen_gap = kg * (s.ammonium - start.ammonium) - f.ammonia_released
    alkalinity_gap = kg * (s.alkalinity - start.alkalinity) - f.skeleton_ueq - f.ammonia_released
    assert np.abs(oxygen_gap / (kg * start.oxygen + start.oxygen_gas + f.respired)).max() < 1e-8
    assert np.abs(carbon_gap / (kg * start.carbon)).max() < 1e-8
    assert np.abs(nitrogen_gap / (kg * start.ammonium + np.abs(f.ammonia_released))).max() < 1e-8
    assert np.abs(alkalinity_gap / (kg * start.alkalinity)).max() < 1e-8


CASES = [
    ("ordinary frag", {}, 25.0, 1.0),
    ("still", {}, 25.0, 0.0),
    ("oxygen", {"oxygen_fraction": 0.98}, 25.0, 1.0),
    ("nearly full", {"water_l": 0.5, "gas_l": 0.1}, 25.0, 1.0),
    ("no gas", {"water_l": 0.6, "gas_l": 0.0}, 25.0, 1.0),
    ("big coral, little water", {"water_l": 0.1, "gas_l": 0.2, "area_cm2": 150.0}, 25.0, 1.0),
    ("big coral, little water, still", {"water_l": 0.1, "gas_l": 0.2, "area_cm2": 150.0}, 27.0, 0.0),
    ("warm", {"area_cm2": 60.0}, 31.5, 1.0),
    ("cold", {"area_cm2": 60.0}, 15.0, 1.0),
    ("rigid cup", {"water_l": 0.12, "gas_l": 0.1, "area_cm2": 15.0, "rigid": True}, 24.0, 1.0),
    ("cooling", {"area_cm2": 60.0}, lambda h: 17 + 8 * np.exp(-h / 9), 1.0),
    ("day and night", {"area_cm2": 90.0}, lambda h: 24 + 5 * np.sin(2 * np.pi * h / 24), 1.0),
]


@pytest.mark.parametrize(("what", "own", "temperature_c", "motion"), CASES, ids=[c[0] for c in CASES])
def test_pools_agree_with_a_general_integrator(what, own, temperature_c, motion):
    bag = a_bag(**own, limits=())
    reference = ReferenceBag(bag, PARAMETERS, temperature_c, motion)
    grid = np.concatenate([FIRST_H, np.arange(3.5, 48.1, 0.5)])
    exact = reference.solve(grid)
    ours = [
        (float(s.oxygen_mg_l[0, 0]), float(s.ph_total[0, 0]), float(s.state.ammonium[0, 0]))
        for s in walk(bag, PARAMETERS, temperature_c, grid, motion)
    ]
    oxygen, ph, ammonium = np.array(ours).T
    expected = reference.oxygen_mg_l(grid, exact)[1:]
    assert (np.abs(oxygen - expected) / (1 + 0.1 * expected)).max() < 0.05
    assert np.abs(ph - reference.ph(grid, exact)[1:]).max() < 0.02
    assert (np.abs(ammonium - exact[5][1:]) / (2 + exact[5][1:])).max() < 0.05


def reference_rows():
    with HOLDS.open() as file:
        return [{name: float(value) for name, value in row.items()} for row in csv.DictReader(file)]


def case_bag(row):
    return a_bag(
        row["water_l"],
        row["gas_per_water"] * row["water_l"],
        row["area_cm2"],
        oxygen_fraction=row["oxygen_fraction"],
        start_c=row["temperature_c"],
        limits=(low_oxygen(row["level_mg_l"]),),
    )


def test_hold_times_agree_with_a_general_integrator():
    # reference_holds.csv: scipy LSODA, rtol 1e-8, events on its dense output (reference_bag.py writes it).
    # Half a per cent, or 20 seconds where a big coral empties little water within the first hour.
    rows = reference_rows()
    assert len(rows) >= 50
    for row in rows:
        found = hold_h(case_bag(row), temperature_c=row["temperature_c"], hours=96.0, motion=row["motion"])[0]
        assert found == pytest.approx(row["hours"], rel=0.005, abs=20 / 3600), row


def test_hold_times_of_days_bear_the_longer_steps_of_late_hours():
    second, fourth = LONG_STEPS_AFTER_H
    rows = [row for row in reference_rows() if row["hours"] > second]
    assert sum(row["hours"] > fourth for row in rows) >= 5
    grid = walked_hours(np.arange(0.0, 96.1, 0.5))
    assert np.diff(grid)[grid[:-1] >= fourth].min() == pytest.approx(2.0)
    for row in rows:
        warm = np.full(grid.size, row["temperature_c"])
        bag, one = case_bag(row), central(ON_TIME)
        found = forecast_at([bag], grid, warm, PARAMETERS, one, motion=row["motion"])[0, 0]
        assert found == pytest.approx(row["hours"], rel=0.005), row


@pytest.mark.parametrize("number", [2, 20, 60])
def test_the_committed_reference_can_be_computed_again(number):
    row = reference_rows()[number]
    hours = hours_to(case_bag(row), PARAMETERS, row["temperature_c"], row["motion"], row["level_mg_l"])
    assert hours == pytest.approx(row["hours"], abs=2e-6)


def test_two_orders_of_step_give_two_orders_of_error():
    # Measured order of the scheme: halving the step quarters the error.
    bag = a_bag(limits=())
    exact = ReferenceBag(bag, PARAMETERS, 25.0).solve(np.array([0.0, 12.0]), rtol=1e-10)[:, -1]
    errors = []
    for step in (0.5, 0.25, 0.125):
        *_, last = walk(bag, PARAMETERS, 25.0, np.arange(0, 12 + step / 2, step))
        found = np.array([last.state.oxygen[0, 0], last.state.carbon[0, 0]])
        errors.append(np.abs(found - exact[[0, 2]]))
    assert (errors[0] / errors[1] > 2.5).all()
    assert (errors[1] / errors[2] > 2.5).all()
