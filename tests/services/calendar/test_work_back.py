"""Trade rules are common practice without a source; holidays are checked against 5 U.S.C. 6103(a)."""

import calendar as months
from datetime import UTC, date, datetime, timedelta

import pytest
from calendar_cases import CHICAGO, PHOENIX, bags_for, calendar, cut, shipment, whole
from hypothesis import given, settings
from hypothesis import strategies as st
from pinned_reference import pinned

from ramet.domain.errors import BadInput
from ramet.domain.words import Form
from ramet.formats.plan import Task
from ramet.formats.shipment import Carrier
from ramet.reference.tables import Reference, load_reference
from ramet.services.calendar.carrier_days import public_holidays, refusal, shipping_days
from ramet.services.calendar.healing import edge_sealed_on, floor_on, latest_cut_on
from ramet.services.calendar.work_back import WorkBack, work_back

TUESDAY = datetime(2027, 2, 9, 9, tzinfo=CHICAGO)
EARLY = date(2027, 1, 4)


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def of_kind(found: WorkBack, kind: str) -> list[Task]:
    return [task for task in found.tasks if task.kind == kind]


def only(found: WorkBack, kind: str) -> Task:
    (task,) = of_kind(found, kind)
    return task


def keeps_its_own_order(found: WorkBack) -> bool:
    ends = {task.id: task.ends for task in found.tasks}
    return all(
        task.starts >= ends[before] + timedelta(hours=task.gap_h)
        for task in found.tasks
        for before in task.after
    )


def test_a_branching_piece_is_cut_its_ten_days_before_packing(reference: Reference) -> None:
    ten = pinned(reference, Pocillopora__branching__healing_d=10)
    found = calendar(ten, [cut("p1", "m1"), whole("p2")], EARLY, TUESDAY)
    # By hand: 9 February less 10 days is Saturday 30 January, so the last working day is Friday 29.
    assert only(found, "cut").starts.date() == date(2027, 1, 29)
    assert only(found, "mount").starts == only(found, "cut").ends
    assert only(found, "heal").starts == only(found, "mount").ends
    assert only(found, "heal").ends.date() == date(2027, 2, 8)
    assert only(found, "heal").bench_min == 0
    assert only(found, "cut").latest_start.date() == date(2027, 1, 30)
    assert found.problems == ()


def test_dips_are_spaced_past_the_hatch_and_leave_three_days(reference: Reference) -> None:
    corals = [whole("a1", "Acropora millepora", "branching"), whole("f1")]
    found = calendar(reference, corals, EARLY, TUESDAY, tanks={"a1": "T1", "f1": "T1"})
    first, second = of_kind(found, "dip")
    # Published (Barton et al. 2019): eggs of the Acropora flatworm hatch in 11 days at 27 °C, the new
    # adults lay from day 35; the second treatment lies between.
    assert timedelta(days=11) < second.starts - first.ends < timedelta(days=35)
    # Common practice, no source: no dip in the last two or three days.
    assert TUESDAY - second.ends >= timedelta(days=3)


def test_tanks_without_such_a_pest_are_dipped_a_week_apart(reference: Reference) -> None:
    found = calendar(reference, [whole("f1")], EARLY, TUESDAY)
    first, second = of_kind(found, "dip")
    assert timedelta(days=7) <= second.starts - first.ends <= timedelta(days=9)
    assert second.gap_h == 7 * 24


def test_no_fresh_cut_is_dipped_and_the_mother_is_dipped_before(reference: Reference) -> None:
    found = calendar(reference, [cut("p1", "m1")], EARLY, TUESDAY)
    first, second = of_kind(found, "dip")
    assert first.pieces == ("m1",)
    assert first.ends <= only(found, "cut").starts
    assert second.pieces == ("p1",)
    assert second.starts - only(found, "mount").ends >= timedelta(hours=48)


def test_the_last_days_follow_common_practice(reference: Reference) -> None:
    found = calendar(reference, [whole("p1"), whole("p2")], EARLY, TUESDAY)
    eve = TUESDAY.date() - timedelta(days=1)
    assert only(found, "go_no_go").starts.date() == eve
    assert only(found, "tank_test").ends <= only(found, "go_no_go").starts
    fasting = TUESDAY - only(found, "feed").ends
    assert timedelta(hours=24) <= fasting <= timedelta(hours=48)
    assert TUESDAY - only(found, "mix_water").ends >= timedelta(hours=12)
    assert "1.0 L" in only(found, "mix_water").title
    assert only(found, "labels").starts.date() >= eve - timedelta(days=1)
    assert only(found, "pack").starts == TUESDAY
    assert only(found, "handover").starts == TUESDAY.replace(hour=14)


def test_boxes_are_packed_one_after_the_other_in_the_sealing_order(reference: Reference) -> None:
    pieces = [whole(f"p{n}") for n in range(6)]
    found = calendar(pinned(reference, box_closing_min=30), pieces, EARLY, TUESDAY, boxes=2)
    first, second = of_kind(found, "pack")
    assert first.pieces == ("p0", "p2", "p4")
    # 3 bags at 6 minutes and half of 30 minutes for closing: 33.
    assert second.starts == first.ends == TUESDAY + timedelta(minutes=33)
    assert first.id in second.after


def test_packing_that_does_not_fit_before_the_departure_is_a_problem(reference: Reference) -> None:
    pieces = [whole(f"p{n}") for n in range(30)]
    found = calendar(reference, pieces, EARLY, TUESDAY, departs=TUESDAY + timedelta(hours=2))
    assert any("Packing 30 bags takes" in text for text in found.problems)
    assert of_kind(found, "pack")[-1].ends <= only(found, "handover").starts


def test_the_receiver_works_on_the_receivers_clock(reference: Reference) -> None:
    found = calendar(reference, [whole("p1")], EARLY, TUESDAY)
    opened = only(found, "open")
    # Arizona keeps UTC-7 all year; outcome days as in the glossary.
    assert opened.starts == datetime(2027, 2, 10, 10, tzinfo=PHOENIX)
    assert opened.starts.utcoffset() == timedelta(hours=-7)
    days = [(task.starts.date() - opened.starts.date()).days for task in of_kind(found, "look")]
    assert days == [1, 3, 7, 14, 30]


def test_a_cut_that_would_not_seal_is_told_with_the_first_day_that_works(reference: Reference) -> None:
    ten = pinned(reference, Pocillopora__branching__healing_d=10, dip_count=0)
    today = date(2027, 2, 2)
    found = calendar(ten, [cut("p1", "m1"), whole("p2")], today, TUESDAY)
    assert of_kind(found, "cut") == []
    assert found.problems[0].startswith("Too late to cut p1")
    assert "Friday 12 February 2027" in found.problems[0]
    # 2 February and ten days is Friday 12; boxes go on Monday to Wednesday, and Monday 15 February is
    # Washington's Birthday (third Monday of February, 5 U.S.C. 6103): Tuesday 16.
    assert found.earliest_possible == date(2027, 2, 16)
    assert any("1 of 2 pieces can still go" in text for text in found.problems)


def test_when_two_dips_do_not_fit_one_does_and_the_receiver_is_told(reference: Reference) -> None:
    found = calendar(reference, [whole("p1")], date(2027, 2, 2), TUESDAY)
    assert len(of_kind(found, "dip")) == 1
    assert found.problems == ()
    assert any("only 1 of 2 dips" in text for text in found.cautions)
    # Dip today at 8, again after 7 days on the 9th, rest 3 days, so packed on the 12th or later: a Friday,
    # hence Tuesday 16 February by carrier days and the holiday on Monday.
    assert found.earliest_possible == date(2027, 2, 16)


def test_on_the_day_itself_what_can_not_be_done_any_more_is_left_out_and_said(reference: Reference) -> None:
    found = calendar(reference, [whole("p1")], TUESDAY.date(), TUESDAY)
    assert of_kind(found, "feed") == []
    assert any("Last feed" in text for text in found.problems)
    assert of_kind(found, "pack")
    assert keeps_its_own_order(found)


def test_a_holiday_handover_names_the_holiday_and_other_days(reference: Reference) -> None:
    king = datetime(2027, 1, 18, 9, tzinfo=CHICAGO)
    found = calendar(reference, [whole("p1")], date(2026, 12, 1), king)
    (text,) = [text for text in found.problems if "handover" in text]
    assert "Martin Luther King" in text
    assert "Wednesday 13 January 2027, Tuesday 19 January 2027" in text


def test_a_day_the_carrier_does_not_ship_is_a_problem(reference: Reference) -> None:
    friday = datetime(2027, 2, 12, 9, tzinfo=CHICAGO)
    found = calendar(reference, [whole("p1")], EARLY, friday)
    assert any("Friday 12 February 2027 is not a shipping day" in text for text in found.problems)


def test_a_closed_day_on_the_way_is_a_caution(reference: Reference) -> None:
    wednesday = {"closed_on": (date(2027, 2, 10),)}
    found = calendar(reference, [whole("p1")], EARLY, TUESDAY, carrier=wednesday)
    assert found.problems == ()
    assert any("closed on Wednesday 10 February 2027" in text for text in found.cautions)


def test_gaps_are_real_hours_across_the_change_of_the_clock(reference: Reference) -> None:
    # 15 U.S.C. 260a: daylight time begins on the second Sunday of March, 14 March 2027.
    tuesday = datetime(2027, 3, 16, 9, tzinfo=CHICAGO)
    found = calendar(reference, [whole("p1")], date(2027, 2, 1), tuesday)
    first, second = of_kind(found, "dip")
    assert first.starts.utcoffset() == timedelta(hours=-6)
    assert only(found, "pack").starts.utcoffset() == timedelta(hours=-5)
    assert second.starts.astimezone(UTC) - first.ends.astimezone(UTC) >= timedelta(days=7)
    assert tuesday.astimezone(UTC) - second.ends.astimezone(UTC) >= timedelta(days=3)
    assert tuesday.astimezone(UTC) - only(found, "feed").ends.astimezone(UTC) >= timedelta(hours=24)
    assert all(8 <= task.starts.hour < 18 for task in found.tasks if task.bench_min and task.kind != "pack")


def test_work_keeps_off_weekends_and_holidays_while_it_can(reference: Reference) -> None:
    found = calendar(reference, [whole("p1"), cut("p2", "m2")], EARLY, TUESDAY)
    days = [task.starts.date() for task in found.tasks if task.bench_min and task.id != "last-feed"]
    assert all(day.weekday() < 5 for day in days)
    assert date(2027, 1, 18) not in days


def test_sunday_work_that_can_not_be_done_before_is_told(reference: Reference) -> None:
    monday = datetime(2027, 2, 8, 9, tzinfo=CHICAGO)
    found = calendar(reference, [whole("p1")], EARLY, monday)
    assert only(found, "go_no_go").starts.date() == date(2027, 2, 7)
    assert any("Sunday 7 February 2027" in text for text in found.cautions)


def test_a_packing_day_that_is_past_is_said(reference: Reference) -> None:
    found = calendar(pinned(reference, dip_count=0), [whole("p1")], date(2027, 2, 10), TUESDAY)
    assert found.tasks == ()
    assert found.problems == ("The first bag was to be sealed on Tuesday 9 February 2027, which is past.",)
    # Wednesday 10 February is too soon for 24 h without food; the next shipping days are Monday 15
    # (Washington's Birthday) and Tuesday 16.
    assert found.earliest_possible == date(2027, 2, 16)


def test_goods_alone_need_no_inspection_and_no_fasting(reference: Reference) -> None:
    media = bags_for([whole("p1")])[0].model_copy(update={"pieces": (), "goods": "matured media"})
    sent = shipment(TUESDAY.replace(hour=14), datetime(2027, 2, 10, 10, tzinfo=PHOENIX))
    found = work_back([], [media], sent, reference, EARLY, TUESDAY, TUESDAY.replace(hour=14))
    assert of_kind(found, "inspect") == of_kind(found, "feed") == of_kind(found, "dip") == []
    assert "matured media" in only(found, "pack").title
    assert found.problems == ()


def test_nothing_to_send_is_nothing_to_do(reference: Reference) -> None:
    assert calendar(reference, [], EARLY, TUESDAY) == WorkBack((), (), None)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.sampled_from(["whole", "cut"]), min_size=1, max_size=12),
    st.integers(0, 40),
    st.integers(1, 3),
)
def test_any_calendar_keeps_its_own_order_and_lies_ahead(
    kinds: list[str], days_ahead: int, boxes: int
) -> None:
    reference = load_reference()
    taxa = [("Favites abdita", "massive"), ("Zoanthus sociatus", "mat"), ("Acropora millepora", "branching")]
    chosen = [
        cut(f"p{n}", f"m{n % 3}", *taxa[n % 3]) if kind == "cut" else whole(f"p{n}", *taxa[n % 3])
        for n, kind in enumerate(kinds)
    ]
    today = TUESDAY.date() - timedelta(days=days_ahead)
    tanks = {one.piece: f"T{n % 2}" for n, one in enumerate(chosen)}
    found = calendar(reference, chosen, today, TUESDAY, tanks=tanks, boxes=boxes)
    assert len({task.id for task in found.tasks}) == len(found.tasks)
    assert keeps_its_own_order(found)
    assert all(task.starts.date() >= today for task in found.tasks)
    assert all(task.starts <= task.latest_start for task in found.tasks)
    sealed = {task.id: task for task in found.tasks if task.kind == "heal"}
    assert all(task.ends <= TUESDAY for task in sealed.values())
    planned_cuts = {piece for task in of_kind(found, "cut") for piece in task.pieces}
    for one in chosen:
        if one.piece in planned_cuts:
            assert latest_cut_on(reference, one.taxon, one.form, TUESDAY.date()) >= today
    assert sorted(piece for task in of_kind(found, "pack") for piece in task.pieces) == sorted(
        one.piece for one in chosen
    )


def test_the_same_calendar_comes_out_twice(reference: Reference) -> None:
    chosen = [whole("p1"), cut("p2", "m2"), whole("p3", "Zoanthus sociatus", "mat")]
    assert calendar(reference, chosen, EARLY, TUESDAY) == calendar(reference, chosen, EARLY, TUESDAY)


def test_a_grower_reads_a_page_of_lines_and_not_one_a_piece(reference: Reference) -> None:
    taxa = [("Favites abdita", "massive"), ("Acropora millepora", "branching"), ("Zoanthus sociatus", "mat")]
    chosen = [whole(f"p{n}", *taxa[n % 3]) for n in range(20)]
    chosen += [cut(f"c{n}", f"m{n // 3}", *taxa[n // 3 % 3]) for n in range(12)]
    # Mothers stand in two of four tanks; a zoanthid heals in days, a massive piece in weeks.
    tanks = {one.piece: f"T{n % 4}" for n, one in enumerate(chosen)}
    tanks |= {one.piece: f"T{int(one.mother[1:]) % 2}" for one in chosen if one.mother}
    found = calendar(reference, chosen, EARLY, TUESDAY, tanks=tanks, boxes=3)
    assert len(found.tasks) <= 40


def test_healing_days_are_whole_days_of_the_calendar(reference: Reference) -> None:
    seven = pinned(reference, Pocillopora__branching__healing_d=6.5)
    name = ("Pocillopora damicornis", Form.BRANCHING)
    assert edge_sealed_on(seven, *name, date(2027, 2, 1)) == date(2027, 2, 8)
    assert latest_cut_on(seven, *name, date(2027, 2, 8)) == date(2027, 2, 1)


@pytest.mark.parametrize(
    ("taxon", "form", "least", "most"),
    [
        # Common practice, no source; from memory.
        ("Sinularia flexibilis", Form.LEATHER, 7, 10),
        ("Zoanthus sociatus", Form.MAT, 5, 7),
        ("Acropora millepora", Form.BRANCHING, 7, 14),
        ("Favites abdita", Form.MASSIVE, 10, 14),
        ("Euphyllia glabrescens", Form.PHACELOID, 3, 7),
    ],
)
def test_planning_days_to_heal_lie_in_the_range_of_practice(
    reference: Reference, taxon: str, form: Form, least: int, most: int
) -> None:
    on = date(2027, 2, 1)
    assert least <= (edge_sealed_on(reference, taxon, form, on) - on).days <= most
    # At least a day or two between cutting and bagging, whatever the kind: common practice, no source.
    assert floor_on(reference, taxon, form, on) - on >= timedelta(days=2)


def test_the_legal_holidays_of_2027() -> None:
    # 5 U.S.C. 6103(a), worked out by hand; those on a weekend are observed on a weekday besides.
    legal = [
        (1, 1),
        (1, 18),
        (2, 15),
        (5, 31),
        (6, 19),
        (7, 4),
        (9, 6),
        (10, 11),
        (11, 11),
        (11, 25),
        (12, 25),
    ]
    assert {date(2027, *day) for day in legal} <= set(public_holidays("US", 2027))


@given(st.integers(2022, 2060))
def test_kings_birthday_is_the_third_monday_of_january(year: int) -> None:
    # 5 U.S.C. 6103(a), against the standard library's month calendar.
    mondays = [week[0] for week in months.monthcalendar(year, 1) if week[0]]
    assert "Martin Luther King" in public_holidays("US", year)[date(year, 1, mondays[2])]


def test_an_unknown_holiday_calendar_is_refused_and_none_is_allowed() -> None:
    with pytest.raises(BadInput, match=r"carrier\.holidays"):
        public_holidays("XX", 2027)
    assert public_holidays("", 2027) == {}


@given(st.dates(date(2026, 1, 1), date(2028, 12, 31)))
def test_shipping_days_are_those_nothing_speaks_against(first: date) -> None:
    carrier = Carrier(closed_on=(date(2027, 2, 9),))
    day = next(shipping_days(carrier, first))
    assert day.weekday() < 3
    assert day != date(2027, 2, 9)
    assert refusal(carrier, day) is None
    skipped = [first + timedelta(days=ahead) for ahead in range((day - first).days)]
    assert all(refusal(carrier, one) is not None for one in skipped)
