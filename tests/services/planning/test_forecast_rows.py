"""The journey as rows of the plan."""

from dataclasses import replace

import numpy as np
import pytest
from small_shipment import OK_SMALL, small_stages

from ramet.services.planning.forecast_rows import forecast_rows

LOADED = small_stages().packed.loaded
ROWS = forecast_rows(OK_SMALL, LOADED)


def test_hold_times_stop_at_the_horizon_and_say_how_many_outlast_it() -> None:
    for number, bag in enumerate(ROWS.bags):
        hold = bag.hold_h
        assert hold.p05 <= hold.p50 <= hold.p95 <= LOADED.horizon_h
        outlasting = np.mean(LOADED.journey.holds.hold_h[number] >= LOADED.horizon_h)
        assert hold.censored_share == pytest.approx(outlasting, abs=1e-4)


def test_margins_add_up_as_shown() -> None:
    for bag in ROWS.bags:
        assert bag.margin_h == pytest.approx(bag.hold_h.p05 - bag.needed_h, abs=0.011)
        assert bag.hold_late_p05_h is not None
        late = bag.hold_late_p05_h - bag.needed_h - ROWS.late_h
        assert bag.margin_late_h == pytest.approx(late, abs=0.011)


def test_bands_are_in_order_at_every_hour_and_steps_are_half_an_hour_at_most() -> None:
    assert max(np.diff(ROWS.hours)) <= 0.5 + 1e-9
    for bag in ROWS.bags:
        for bands in (bag.series.temperature_c, bag.series.oxygen_mg_l, bag.series.ph_total):
            assert len(bands.p50) == len(ROWS.hours)
            assert all(a <= b <= c for a, b, c in zip(bands.p05, bands.p50, bands.p95, strict=True))


def test_legs_run_from_departure_to_arrival() -> None:
    # Worked by hand: 14:00 to 09:00 the day after are 19 hours.
    (leg,) = ROWS.legs
    assert (leg.start_h, leg.end_h) == (0.0, 19.0)


def test_only_limits_that_end_a_hold_are_drawn() -> None:
    for bag in ROWS.bags:
        codes = [limit.code for limit in bag.limits]
        assert codes
        assert not any(code.endswith("caution") for code in codes)
        assert all(limit.words for limit in bag.limits)


def test_every_bag_says_what_its_hold_hangs_on() -> None:
    assert all(bag.hangs_on for bag in ROWS.bags)
    assert all(0 <= bag.chance_ok <= 1 for bag in ROWS.bags)


def test_a_bag_opened_a_day_late_has_no_better_chance() -> None:
    for bag in ROWS.bags:
        assert bag.chance_late is not None
        assert 0 <= bag.chance_late <= bag.chance_ok + 0.05  # late journeys rest on fewer scenarios


def test_every_bag_that_can_break_names_the_parameters_its_hold_goes_with() -> None:
    for number, bag in enumerate(ROWS.bags):
        strengths = [abs(sway.rank_correlation) for sway in bag.sways]
        assert strengths == sorted(strengths, reverse=True)
        assert bool(bag.sways) is not bool(LOADED.journey.holds.censored[number].all())
        assert not bag.sways or bag.sways[0].words == bag.hangs_on


def test_a_bag_that_falls_short_names_what_it_falls_short_by() -> None:
    # In nine of ten forecasts oxygen ends the hold after the need, in the tenth the cold long before it.
    holds = LOADED.journey.holds
    count = holds.hold_h.shape[1]
    cold = np.arange(count) % 10 == 0
    hold_h, first, censored = holds.hold_h.copy(), holds.first.copy(), holds.censored.copy()
    hold_h[0] = np.where(cold, 2.0, LOADED.loads[0].needed_h + 5.0)
    first[0] = np.where(cold, holds.codes.index("cold"), holds.codes.index("oxygen_low"))
    censored[0] = False
    short = replace(holds, hold_h=hold_h, first=first, censored=censored)
    bag = forecast_rows(OK_SMALL, replace(LOADED, journey=replace(LOADED.journey, holds=short))).bags[0]
    assert bag.margin_h < 0
    assert bag.first_limit.startswith("colder than")
