"""Whole forecasts: what trade and experiment say of bags, sampling, delays and what is reported."""

from dataclasses import replace

import numpy as np
import pytest
from journey_cases import (
    ON_TIME,
    PARAMETERS,
    REFERENCE,
    UNKNOWN_RATE,
    a_bag,
    a_box,
    an_animal,
    low_oxygen,
    steady,
    with_typical,
)
from test_bag import walk

from ramet.domain.band import Band, exactly
from ramet.domain.words import Form
from ramet.science.journey import forecast, forecast_at
from ramet.science.journey_result import Holds
from ramet.science.late import delayed
from ramet.science.packed import HeatPack, Lateness, Limit, Surroundings
from ramet.science.scenarios import DRAWN, central, draw, spread
from ramet.services.trials.transit_inputs import limits_for

SCENARIOS = draw(PARAMETERS, Lateness(0.08, 6.0, 0.02), 256, 1)
NIGHT_H = 20.0
"""Sealed at two in the afternoon, opened at ten the next morning."""


def p05_h(bag, motion=1.0, temperature_c=24.5, hours=96.0):
    grid = np.arange(0, hours + 0.1, 0.5)
    found = forecast_at([bag], grid, np.full(grid.size, temperature_c), PARAMETERS, SCENARIOS, motion=motion)
    return float(np.percentile(found[0], 5))


def test_an_ordinary_frag_holds_an_on_time_night():
    # Common practice: a 30 cm² frag in a third of water and two thirds of air arrives well after a night;
    # published survival on short trips is above 90 % (Carlson 1999, Petersen 2005 through Todinanahary 2021).
    assert p05_h(a_bag(0.2, 0.4, 30.0)) > NIGHT_H


def test_a_touchy_acropora_frag_holds_an_on_time_night():
    limits = limits_for(REFERENCE, "Acropora tenuis", Form.BRANCHING)
    rate = REFERENCE.trait("Acropora tenuis", Form.BRANCHING, "respiration_umol_cm2_h").band
    assert p05_h(a_bag(animals=(an_animal(30.0, rate),), limits=limits)) > NIGHT_H


def test_a_frag_in_four_tenths_of_a_litre_does_not_hold_three_days():
    # Todinanahary et al. 2021: beyond 48 h partial mortality in every dark treatment of such containers.
    assert p05_h(a_bag(0.4 / 3, 0.8 / 3, 30.0, surface_cm2=33.0)) < 72.0


def test_a_massive_colony_holds_35_hours_submerged():
    # Massive colonies came through 35 h submerged without a loss (published; figures of the bags not read).
    rate = REFERENCE.trait("Porites lobata", Form.MASSIVE, "respiration_umol_cm2_h").band
    assert p05_h(a_bag(1.5, 3.0, animals=(an_animal(150.0, rate),), surface_cm2=205.0)) > 35.0


def test_a_carried_bag_outlasts_a_still_one():
    assert p05_h(a_bag()) > 3 * p05_h(a_bag(), motion=0.0)


def test_oxygen_outlasts_air():
    assert p05_h(a_bag(oxygen_fraction=0.95), hours=120) > 1.5 * p05_h(a_bag(), hours=120)


def test_a_third_of_water_outlasts_a_nearly_full_bag():
    assert p05_h(a_bag(0.2, 0.4)) > 2 * p05_h(a_bag(0.5, 0.1))


def test_acid_of_an_ordinary_bag_stays_where_it_was_measured():
    # Measured bag pH stayed mostly at 7.0 to 7.8 (Todinanahary et al. 2021, S. hystrix; lowest 6.67). Over a
    # day at the class value of branching corals, central run. Later hours run lower than measured: see the
    # page on the journey model.
    rate = REFERENCE.trait("Stylophora pistillata", Form.BRANCHING, "respiration_umol_cm2_h").band
    branching = replace(rate, low=0.35, typical=0.8, high=1.6)
    bag = a_bag(animals=(an_animal(30.0, branching),), limits=())
    ph = [float(s.ph_total[0, 0]) for s in walk(bag, PARAMETERS, 24.5, np.arange(0, 24.1, 0.5))]
    assert min(ph) > 6.95
    assert np.mean(np.array(ph) >= 7.0) > 0.9


def three_volumes(total_l, area_cm2):
    """End values of the three water volumes in a fixed still container, dark, 25 °C."""
    ends = []
    for water_l in (0.125, 0.190, 0.325):
        bag = a_bag(
            water_l,
            total_l - water_l,
            animals=(an_animal(area_cm2, exactly(1.5), 0.02),),
            blank_umol_h=exactly(0.3),
            surface_cm2=50.0,
            film_area_cm2=300.0,
            alkalinity_meq_l=2.23 * 1.0233,
            limits=(),
        )
        steps = walk(bag, PARAMETERS, 25.0, np.arange(0, 72.1, 0.5), motion=0.0)
        ends.append([(float(s.oxygen_mg_l[0, 0]), float(s.ph_total[0, 0])) for s in steps])
    return np.array(ends)


def test_three_water_volumes_rank_as_measured():
    # Todinanahary, Batigny, Lavitra & Grosjean 2021, WIO J Mar Sci 20(2):81-93, test T2: Seriatopora in 125,
    # 190 and 325 mL of one container, 72 h: oxygen 3.34, 2.40, 0.02 mg/L. Container size and nubbin area
    # were not printed. Fitted here within what equal use in V1 and V2 implies (0.40 to 0.48 L) and 5 to 30
    # cm² at 1.5 µmol/cm²/h: least sum of the oxygen misfits. Judged: ranking, and each oxygen value within
    # 1.3 mg/L. Not met, and not tuned: measured pH (7.77, 7.51, 7.03) is higher than ours by about one unit
    # where little water lies under much gas - the measured fall in oxygen and in pH do not go together in
    # any tight container (see the page on the journey model).
    measured = np.array([3.34, 2.40, 0.02])
    fits = {
        (total, area): three_volumes(total, area)
        for total in (0.40, 0.44, 0.48)
        for area in (5.0, 10.0, 15.0, 20.0)
    }
    best = min(fits, key=lambda fit: np.abs(fits[fit][:, -1, 0] - measured).sum())
    oxygen = fits[best][:, -1, 0]
    assert oxygen[0] > oxygen[1] > oxygen[2]
    assert np.abs(oxygen - measured).max() < 1.3
    for found in fits.values():
        ends = found[:, -1, 0]
        assert ends[0] > ends[1] > ends[2], "the ranking holds for every fit in the range"


def winter(hours=96.0):
    return Surroundings(
        hours=np.array([0.0, 2, 2.5, 10, 14, 20, 24, 26, hours]),
        temperature_c=np.array([20.0, 18, 12, 10, 10, 12, 15, 20, 20]),
        motion=np.ones(9),
        pressure_atm=np.array([1.0, 1, 1, 0.8, 0.8, 1, 1, 1, 1]),
        offset_c=3.0,
        delay_at_h=12.0,
    )


def two_boxes(**others):
    bags = [a_bag(id=f"b{i}", sealed_before_h=2 + 0.1 * i, at_mm=(95 * i, 0, 0)) for i in range(3)]
    more = [replace(bag, id=f"c{i}") for i, bag in enumerate(bags)]
    pack = HeatPack(Band(1.5, 2.25, 3.0), 1.0, 40.0, 0.0, True)
    return [a_box(bags, heat_packs=(pack,)), a_box(more, k_w_mk=Band(0.033, 0.036, 0.040))]


def test_a_forecast_is_the_same_each_time():
    one, two = (forecast(two_boxes(), winter(), PARAMETERS, SCENARIOS.part(0, 64), 48.0) for _ in range(2))
    assert np.array_equal(one.holds.hold_h, two.holds.hold_h)
    assert np.array_equal(one.series["ph_total"].p50, two.series["ph_total"].p50)


def test_series_keep_their_spacing_where_steps_are_long():
    found = forecast(two_boxes(), winter(), PARAMETERS, SCENARIOS.part(0, 16), 60.3)
    assert np.diff(found.hours).max() == pytest.approx(0.5)
    assert found.hours[-1] == pytest.approx(60.3)
    ph = found.series["ph_total"].p50[0]
    between = found.hours == 50.5
    around = (found.hours == 50.0) | (found.hours == 51.0)
    assert ph[between] == pytest.approx(ph[around].mean(), abs=1e-9)


def test_late_columns_are_the_journey_that_sets_out_late():
    few = SCENARIOS.part(0, 32)  # so few that all of them are also taken late
    early = replace(winter(), delay_at_h=5.0)  # before the first bags break
    found = forecast(two_boxes(), early, PARAMETERS, few, 72.0)
    alone = forecast(two_boxes(), delayed(early, 24.0), PARAMETERS, few, 72.0)
    assert found.late.hold_h == pytest.approx(alone.holds.hold_h, rel=2e-3)
    some = forecast(two_boxes(), delayed(early, 6.0), PARAMETERS, few, 72.0)
    assert found.somewhat_late.hold_h == pytest.approx(some.holds.hold_h, rel=2e-3)
    assert np.abs(found.late.hold_h - found.holds.hold_h).max() > 0.1


def test_how_bags_are_grouped_does_not_change_their_forecast():
    # 64 scenarios of six bags are one group, 4,096 are one group for each bag or two. The typical network of
    # a box is taken at the mean of the weather it is given, hence not to rounding.
    many = draw(PARAMETERS, Lateness(0.08, 6.0, 0.02), 4096, 1)
    few, all_of_them = (
        forecast(two_boxes(), winter(), PARAMETERS, s, 24.0) for s in (many.part(0, 64), many)
    )
    assert all_of_them.holds.hold_h[:, :64] == pytest.approx(few.holds.hold_h, rel=1e-4)


def test_a_forecast_reports_every_bag_in_full():
    found = forecast(two_boxes(), winter(), PARAMETERS, SCENARIOS, 48.0)
    assert found.ids == ("b0", "b1", "b2", "c0", "c1", "c2")
    assert found.hours[0] == 0
    assert found.hours[-1] == 48
    assert np.diff(found.hours).max() <= 0.5
    for name, bands in found.series.items():
        assert bands.p50.shape == (6, found.hours.size), name
        assert np.isfinite(bands.p05).all()
        assert (bands.p05 <= bands.p50).all()
        assert (bands.p50 <= bands.p95).all()
    assert len(found.air_c) == 2
    assert found.air_c[0].p50.mean() > found.air_c[1].p50.mean()
    for bag in range(6):
        p05, p50, p95, censored = found.hold_percentiles_h(bag)
        assert p05 <= p50 <= p95 <= 48 + found.sealed_before_h[bag]
        assert 0 <= censored <= 1
        assert 0 <= found.chance_ok(bag, 26.0) <= 1
        # late journeys rest on a quarter of the scenarios: their error is added
        assert 0 <= found.chance_ok_day_late(bag, 26.0) <= found.chance_ok(bag, 26.0) + 0.1
        assert found.hangs_on(bag) in DRAWN
        assert found.opened_ammonia_umol_l(bag, 26.0) >= 0


def test_what_the_hold_hangs_on_is_what_drives_it():
    cold = Limit("cold", "temperature_c", True, 19.0, 2.0)
    by_weather = [a_box([a_bag(limits=(cold,))])]
    around = replace(winter(), temperature_c=np.linspace(12, 10, 9))
    found = forecast(by_weather, around, PARAMETERS, SCENARIOS, 48.0)
    assert found.hangs_on(0) == "ambient"
    assert found.holds.first_limit(0) == "cold"
    by_coral = [a_box([a_bag(area_cm2=90.0, limits=(low_oxygen(3.0),))])]
    found = forecast(by_coral, steady(24.0), PARAMETERS, SCENARIOS, 72.0)
    assert found.hangs_on(0) in ("respiration", "kl_carried_cm_h", "dark_floor_share")


def test_seeds_move_percentiles_little():
    # At the default size p05 and p50 move at most 0.5 h between seeds, p95 2 h unless beyond the horizon.
    # Holds for margins of hours; where the 5th percentile lies days out its error grows to some hours.
    cold = (a_bag(limits=(Limit("cold", "temperature_c", True, 16.0, 3.0),)), [8.0, 6.0])
    stuffy = (a_bag(area_cm2=60.0, limits=(low_oxygen(2.5, 4.0),)), [24.0, 24.0])
    for bag, (warmer, colder) in (cold, stuffy):
        air = np.array([20.0, 18, warmer, colder, colder, warmer, 12, 20, 20])
        around, found = replace(winter(), temperature_c=air), []
        for seed in (1, 2, 3):
            many = draw(PARAMETERS, ON_TIME, 512, seed)
            found.append(forecast([a_box([bag])], around, PARAMETERS, many, 72.0).hold_percentiles_h(0)[:3])
        moved = np.ptp(np.array(found), axis=0)
        assert moved[0] <= 0.5
        assert moved[1] <= 0.5
        assert moved[2] <= 2.0 or np.array(found)[:, 2].max() >= 72.0


def test_a_bag_sealed_earlier_has_the_same_hold_from_its_sealing():
    warm = [
        a_bag(sealed_before_h=before, area_cm2=90.0, limits=(low_oxygen(3.0),)) for before in (0.0, 1.0, 4.0)
    ]
    grid = np.arange(0, 96.1, 0.5)
    holds = forecast_at(warm, grid, np.full(grid.size, 25.0), PARAMETERS, central(ON_TIME))
    assert holds[:, 0] == pytest.approx(holds[0, 0], rel=0.005)


def test_bags_are_as_old_at_the_end_as_the_journey_is_long_and_their_wait_before():
    ages = []
    bags = [a_bag(id=f"b{n}", sealed_before_h=before) for n, before in enumerate((0.0, 0.4, 2.0, 7.0))]
    forecast(
        [a_box(bags)], winter(), PARAMETERS, central(ON_TIME), 48.0, follow=lambda one: ages.append(one.age_h)
    )
    assert ages[0][:, 0] == pytest.approx([48.0, 48.4, 50.0, 55.0], abs=1e-9)


def test_delay_holds_the_value_at_its_place():
    late = delayed(winter(), 24.0)
    assert np.interp([12.0, 20.0, 36.0], late.hours, late.temperature_c) == pytest.approx([10.0, 10.0, 10.0])
    assert np.interp(20.0 + 24.0, late.hours, late.temperature_c) == pytest.approx(12.0)
    assert np.interp(6.0, late.hours, late.temperature_c) == pytest.approx(
        np.interp(6.0, winter().hours, winter().temperature_c)
    )


def test_a_bag_that_a_cold_delay_ruins_shows_it():
    cold = Limit("cold", "temperature_c", True, 12.0, 1.0)
    around = replace(winter(), temperature_c=np.array([20.0, 18, 14, 4, 4, 12, 18, 20, 20]), offset_c=0.5)
    found = forecast(
        [a_box([a_bag(1.2, 1.2, limits=(cold,), size_mm=(150, 150, 150))])],
        around,
        PARAMETERS,
        SCENARIOS,
        96.0,
    )
    assert found.late_p05_h(0) <= found.hold_percentiles_h(0)[0] + 0.5
    assert found.chance_ok_day_late(0, 26.0) < 0.5


def test_doses_add_up_until_the_limit_breaks():
    # A ramp of known slope: 25 to 13 °C in 12 h is below 18 °C from hour 7; 3 h later a 3 h limit breaks.
    bag = a_bag(
        limits=(
            Limit("cold", "temperature_c", True, 18.0, 3.0),
            Limit("cold_at_once", "temperature_c", True, 14.25, 0.0),
        )
    )
    grid = np.array([0.0, 12.0, 13.0])
    found = forecast_at([bag], grid, np.array([25.0, 13.0, 13.0]), PARAMETERS, central(ON_TIME))
    assert found[0, 0] == pytest.approx(10.0, abs=1e-6)


def test_heat_with_low_oxygen_counts_double():
    # Heat and hypoxia compound (Alderdice 2022): our rule doubles the dose, marked as a judgement.
    limit = Limit("heat", "temperature_c", False, 30.0, 4.0)
    rich, poor = a_bag(area_cm2=1.0, limits=(limit,)), a_bag(0.3, 0.0, 60.0, limits=(limit,))
    grid = np.array([0.0, 24.0])
    holds = forecast_at([rich, poor], grid, np.array([31.0, 31.0]), PARAMETERS, central(ON_TIME))
    assert holds[0, 0] == pytest.approx(4.0, abs=1e-6)
    assert 2.0 < holds[1, 0] < 3.2


def test_cold_with_low_oxygen_counts_once():
    # Only heat is told to compound with hypoxia.
    limit = Limit("cold", "temperature_c", True, 22.0, 4.0)
    poor = a_bag(0.3, 0.0, 60.0, limits=(limit,))
    grid = np.array([0.0, 24.0])
    holds = forecast_at([poor], grid, np.array([21.0, 21.0]), PARAMETERS, central(ON_TIME))
    assert holds[0, 0] == pytest.approx(4.0, abs=1e-6)


def test_a_band_is_read_as_its_fifth_and_ninety_fifth_percentile():
    many = draw(PARAMETERS, ON_TIME, 4096, 9)
    values = spread(Band(0.5, 1.0, 3.0), many.deviates["respiration"])
    assert np.percentile(values, [5, 50, 95]) == pytest.approx([0.5, 1.0, 3.0], rel=0.01)


def test_parameters_of_the_model_all_come_from_the_table():
    assert with_typical(q10=2.5).q10 == exactly(2.5)
    assert REFERENCE.parameter("q10").band == PARAMETERS.q10
    assert REFERENCE.trait("Unheardof", Form.BRANCHING, "respiration_umol_cm2_h").band == UNKNOWN_RATE


def test_what_a_bag_falls_short_by_is_asked_of_the_scenarios_that_fall_short():
    # Three scenarios break oxygen late, two cold early: for a need of 10 h only the cold ends the hold.
    hold_h = np.array([[30.0, 31.0, 32.0, 6.0, 7.0]])
    first = np.array([[0, 0, 0, 1, 1]])
    holds = Holds(hold_h, hold_h > 99, first, ("oxygen", "cold"), {})
    assert holds.first_limit(0) == "oxygen"
    assert holds.limit_short_of(0, 10.0) == "cold"
    assert holds.limit_short_of(0, 5.0) == "oxygen"
