"""What now and what later: the rules are common practice without a source."""

from datetime import date

from small_tank import SODA, reference, soft, stony, tank

from ramet.services.receiving.arriving import UNDATED, Visit
from ramet.services.receiving.staging import staging

RIPE = [{"name": "blocks", "area_m2": 20, "age_weeks": 30}]
OLD = {"age_weeks": 40, "media": RIPE}


def stages(pieces, visit=UNDATED, **given):
    return staging(reference(), tank(**given), (), pieces, visit)


def names(stage):
    return set(stage.pieces)


def test_what_fits_goes_at_once():
    found = stages([stony(), soft()], **OLD)
    assert [one.week for one in found] == [0]
    assert names(found[0]) == {"A1", "L1"}


def test_acropora_waits_for_a_tank_of_twelve_weeks():
    first, later = stages([stony(), soft()], age_weeks=9, media=RIPE)
    assert (first.week, names(first)) == (0, {"L1"})
    assert (later.week, names(later)) == (3, {"A1"})
    assert "waits for a tank of 12 weeks; this one would be 9" in later.reason


def test_more_than_fifteen_at_once_wait_three_weeks_in_a_young_tank():
    many = [soft(f"L{n:02d}") for n in range(20)]
    first, later = stages(many, age_weeks=2, media=RIPE)
    assert (len(first.pieces), len(later.pieces), later.week) == (15, 5, 3)


def test_minerals_give_out_by_a_number_and_never_come_back_by_waiting():
    # As corals grow the demand only rises: what the pump can't feed today it can't feed in week 12.
    weak = SODA | {"most_ml_d": 2}
    found = stages([stony(f"A{n}") for n in range(12)], dosing=[weak], **OLD)
    assert found[0].week == 0
    assert found[-1].week is None
    assert "dKH a day would be used" in found[-1].reason
    assert sum(len(one.pieces) for one in found) == 12


def test_a_filter_that_ripens_takes_more_later():
    young = [{"name": "blocks", "area_m2": 0.25, "age_weeks": 1}]
    found = stages([soft(f"L{n}") for n in range(8)], age_weeks=30, media=young)
    assert "biofilter: enough with a chance of" in " ".join(one.reason for one in found[1:])
    assert sum(len(one.pieces) for one in found) == 8


def test_what_matters_more_goes_first():
    many = [soft(f"L{n:02d}", rank=2) for n in range(15)] + [soft("M1", rank=0)]
    first, *_ = stages(many, age_weeks=2, media=RIPE)
    assert "M1" in first.pieces


def test_stages_are_dated_from_the_arrival():
    found = stages([stony(), soft()], Visit(arrives=date(2027, 1, 20)), age_weeks=9, media=RIPE)
    assert [one.on for one in found] == [date(2027, 1, 20), date(2027, 2, 10)]
