"""Every rule lets the small plan pass and catches a plan that breaks it."""

from typing import Any

import pytest
from broken_packing import (
    BOARD,
    CHANGED_PLACES,
    COST,
    WAY,
    in_two_boxes,
    opened_in_this_order,
    ready,
    with_like_cups_above,
)
from broken_plans import BAGS, BREAKS, LIGHTER, LOW_CUPS, LOW_LEATHER, at_the_bench, habit, told
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_plan import VOIDS, changed, rules_but, small_dict, small_plan

from ramet.check.plan_check import (
    RULES,
    SWITCHES,
    check_plan,
    rule_name,
    rule_words,
    rules_for,
    switched_off,
)
from ramet.domain.words import PackingRule
from ramet.reference.tables import Reference, load_reference


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def test_the_small_plan_holds(reference: Reference) -> None:
    assert check_plan(small_plan(), reference) == ()


def test_fill_lets_lower_bags_bear_a_board(reference: Reference) -> None:
    low = [*LOW_CUPS, *LOW_LEATHER[:-1], LIGHTER]
    tipping = changed(*low)
    assert {one.rule for one in check_plan(tipping, reference)} == {"boards_do_not_tip"}
    fill = [
        {"kind": "fill", "at_mm": [x, y, 50], "size_mm": [dx, dy, 15]}
        for x, y, dx, dy in ((0, 0, 100, 100), (100, 0, 100, 100), (0, 110, 160, 65))
    ]
    filled = changed(*low, ("boxes.0.pads", [BOARD, *fill, *VOIDS]))
    assert check_plan(filled, reference) == ()


def test_every_rule_has_a_plan_that_breaks_it() -> None:
    assert {rule_name(rule) for rule in RULES} == set(BREAKS)


@pytest.mark.parametrize(
    ("rule", "number"), [(rule, n) for rule, plans in BREAKS.items() for n in range(len(plans))]
)
def test_a_broken_plan_is_told_by_its_rule(rule: str, number: int, reference: Reference) -> None:
    found = check_plan(BREAKS[rule][number], reference)
    assert rule in {finding.rule for finding in found}


def test_the_small_plan_is_judged_by_the_same_words_in_any_zone(reference: Reference) -> None:
    shifted = changed(
        ("shipment.departs", "2027-01-19T21:30:00Z"), ("tasks.3.starts", "2027-01-19T22:30:00+01:00")
    )
    assert check_plan(shifted, reference) == ()


def leaves(value: Any, path: str = "") -> list[str]:
    """Return the path of every plain value."""
    items = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    )
    if items is None:
        return [path]
    return [leaf for key, one in items for leaf in leaves(one, f"{path}.{key}".removeprefix("."))]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(
            st.sampled_from(leaves(small_dict())),
            st.integers(-5, 500)
            | st.floats(-1e3, 1e3)
            | st.sampled_from(["A1", "A", "P1", "", "board 1", None, True]),
        ),
        max_size=6,
    )
)
def test_no_plan_whatever_makes_the_checker_fail(reference: Reference, edits: list[tuple[str, Any]]) -> None:
    try:
        plan = changed(*edits)
    except ValueError:
        return
    assert all(finding.text for finding in check_plan(plan, reference))


def test_every_finding_says_where_and_what(reference: Reference) -> None:
    for plans in BREAKS.values():
        for finding in check_plan(plans[0], reference):
            assert finding.where
            assert finding.text
            assert str(finding) == f"{finding.where}: {finding.text} [{finding.rule}]"


def test_every_rule_has_words_of_its_own() -> None:
    words = [rule_words(rule) for rule in RULES]
    assert len(set(words)) == len(words)
    assert all(text.endswith(".") for text in words)


def test_rules_that_the_shipment_switched_off_are_not_asked_for(reference: Reference) -> None:
    last = changed(("chosen.0.strain_left", 0), rules_but("only_small_lie", "keep_last_piece"))
    assert check_plan(last, reference) == ()
    assert [one.rule for one in switched_off(last)] == ["only_small_lie", "keep_last_piece"]
    assert len(rules_for(last)) == len(RULES) - 2


def test_risk_that_could_not_be_spread_is_owned_up_to(reference: Reference) -> None:
    strain = small_dict()["chosen"][1]["strain"]
    told = {"code": "all_in_one_box", "text": f"All of “{strain}” ride in box A.", "source": "the choice"}
    owned = in_two_boxes(("cautions", [*small_dict()["cautions"], told]))
    assert "strains_ride_apart" not in {one.rule for one in check_plan(owned, reference)}


def told_at_wall(bag: str) -> tuple[str, Any]:
    own = {"code": "sensitive_at_wall", "text": f"Sensitive corals stand at a wall, in {bag}.", "source": "x"}
    return ("cautions", [*small_dict()["cautions"], own])


@pytest.mark.parametrize(
    "as_told",
    [
        CHANGED_PLACES,
        [told_at_wall("A4")],
        [rules_but("only_small_lie", "sensitive_off_walls")],
        [("chosen.3.taxon", "Montipora digitata")],
        [("chosen.5.taxon", "Catalaphyllia jardinei"), ("chosen.5.form", "wall")],
        [("bags.5.at_mm", [110, 0, 70])],
        [("bags.3.at_mm", [10, 10, 70])],
        [("bags.5.size_mm", [90, 86, 45])],
        [("bags.3.size_mm", [86, 86, 90]), ("boxes.0.packs.0.at_mm", [145, 80, 191])],
    ],
    ids=[
        "the two changed places",
        "a caution owns up to it",
        "the rule is off",
        "the one at the wall is no sensitive kind",
        "the inner one is as sensitive",
        "the other stands at a wall too",
        "it stands off the walls itself",
        "the footprints differ",
        "it is too tall for the air below the pack",
    ],
)
def test_a_sensitive_coral_may_stand_where_no_hardier_one_could_give_it_its_place(
    as_told: list[tuple[str, Any]], reference: Reference
) -> None:
    found = check_plan(with_like_cups_above(*as_told), reference)
    assert "sensitive_bags_stand_off_the_walls" not in {one.rule for one in found}


def test_a_caution_owns_up_only_to_the_bag_it_names(reference: Reference) -> None:
    for other in ("A40", "BA4", "A6"):
        found = check_plan(with_like_cups_above(told_at_wall(other)), reference)
        assert [one.where for one in found if one.rule == "sensitive_bags_stand_off_the_walls"] == ["A4"]


def test_bags_opened_from_the_thinnest_on_pass(reference: Reference) -> None:
    plan = opened_in_this_order("A6", "A5", "A4", "A3", "A2", "A1")
    assert "thin_bags_are_opened_first" not in {one.rule for one in check_plan(plan, reference)}


def test_a_plan_with_its_cost_another_way_and_substitutes_passes(reference: Reference) -> None:
    offers = changed(("cost", COST), ("other_ways", [WAY]), ready("X1", "A1"))
    assert check_plan(offers, reference) == ()


def test_changes_at_the_bench_that_are_as_told_pass(reference: Reference) -> None:
    again = at_the_bench("P1", "P9", sealed=["A1", "A2"], brought_in=["P1"], bags=["A1"])
    assert check_plan(changed(again), reference) == ()


def test_every_rule_of_packing_that_can_be_switched_off_is_asked_for_while_it_is_on() -> None:
    only_while_off = {PackingRule.SHARE_BAGS}
    assert set(SWITCHES.values()) | only_while_off == set(PackingRule)


def test_a_journey_and_a_habit_of_this_plan_are_no_fault(reference: Reference) -> None:
    assert check_plan(changed(("journey", told(*BAGS)), ("usual", habit(*BAGS))), reference) == ()


def test_another_way_may_gain_goods_that_stay_behind_now(reference: Reference) -> None:
    gains = {"spare": 1, "media that stay behind": 1}
    for pieces, broken in ((7, False), (8, False), (6, False), (5, True), (9, True)):
        found = check_plan(changed(("other_ways", [WAY | {"gains": gains, "pieces": pieces}])), reference)
        assert ("other_ways_count_right" in {one.rule for one in found}) == broken
