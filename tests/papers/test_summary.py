"""The terminal summary, against the plan it was made from."""

import re

from sample_plan import sample_dict, sample_plan

from ramet.formats.plan import Plan
from ramet.papers.summary import summary_text


def test_the_verdict_is_the_first_line():
    assert summary_text(sample_plan()).startswith("Library reef: GOES, BUT SHORT\nEvery must travels")


def test_it_stays_within_eighty_columns_and_about_a_screen():
    for plan in (sample_plan(), sample_plan(24), sample_plan(30, boxes=3, long_names=True)):
        text = summary_text(plan)
        assert max(len(line) for line in text.splitlines()) <= 80
        assert 40 <= len(text.splitlines()) <= 90


def test_everything_left_behind_is_told_with_what_would_change_it():
    text = re.sub(r"\s+", " ", summary_text(sample_plan()))
    for left in sample_plan().left_out:
        assert f"{left.request} ({left.rank}), {left.sent} of {left.wanted} go" in text
        assert left.reasons[0].text in text
        assert left.reasons[0].would_fit_if in text


def test_the_thinnest_bag_comes_first_with_both_margins_and_what_breaks():
    text = re.sub(r"\s+", " ", summary_text(sample_plan()))
    assert (
        "A01 (Winter Fern): +4.3 h, −19.7 h when 24 h late; breaks first: oxygen below 2 mg/L for 6 h" in text
    )


def test_what_harms_people_comes_before_what_harms_papers():
    text = summary_text(sample_plan())
    assert text.index("palytoxin") < text.index("CITES")


def test_a_plan_in_which_nothing_goes_still_says_why():
    nothing = sample_dict(1, boxes=1, name="Nothing", long_names=False)
    nothing |= {"status": "impossible", "chosen": [], "bags": [], "boxes": [], "tasks": [], "cautions": []}
    nothing["forecast"] |= {"bags": [], "boxes": []}
    text = summary_text(Plan.model_validate(nothing))
    assert "DOES NOT GO" in text
    assert "would go if" in text


def test_rules_that_are_off_and_a_cost_that_cannot_be_told_are_said():
    rule = {"rule": "sharp_doubled", "words": "Sharp skeletons travel in two bags.", "on": False}
    told = sample_plan().model_dump(by_alias=True) | {
        "rules": [rule],
        "no_cost": "Your rate table ends at 5 kg.",
    }
    text = summary_text(Plan.model_validate(told))
    assert "Rules switched off by the shipment" in text
    assert "Sharp skeletons travel in two bags. [sharp_doubled]" in text
    assert "Your rate table ends at 5 kg." in text
    assert "Rules switched off" not in summary_text(sample_plan())
