"""Checks a plan by rules of its own: nothing here is shared with what made the plan."""

from collections.abc import Mapping, Sequence

from ramet.check import (
    belonging,
    cautions,
    changes,
    company,
    filling,
    goals,
    loads,
    margins,
    masses,
    offers,
    placement,
    receiving,
    risks,
    sharing,
    standing,
    told,
    verdicts,
    walls,
    workdays,
)
from ramet.check.finding import Finding, Rule
from ramet.domain.words import PackingRule
from ramet.formats.plan import Plan, RuleSetting
from ramet.reference.tables import Reference

RULES: Sequence[Rule] = (
    belonging.names_are_unique,
    belonging.chosen_pieces_are_bagged_once,
    belonging.bags_hold_something,
    belonging.bags_are_boxed_once,
    belonging.boxes_hold_something,
    belonging.every_rule_of_packing_is_told,
    belonging.orders_run_through,
    belonging.forecasts_cover_every_bag_and_box,
    placement.nothing_overlaps,
    placement.all_is_inside,
    placement.bags_rest_on_something,
    placement.bags_cannot_shift,
    placement.boards_rest_on_something,
    placement.packs_are_held,
    placement.packs_keep_their_distance,
    placement.packs_are_as_bought,
    placement.frozen_packs_touch_no_bag,
    placement.heat_packs_can_breathe,
    placement.no_heat_pack_goes_where_none_is_taken,
    placement.outer_size_fits_walls,
    placement.boxes_are_as_bought,
    loads.no_bag_is_crushed,
    loads.nothing_rests_on_fragile_corals,
    loads.stacks_are_not_too_high,
    loads.boards_do_not_tip,
    loads.boards_share_their_bearers,
    loads.mass_is_centred,
    walls.sensitive_bags_stand_off_the_walls,
    company.classes_follow_the_genus,
    company.one_class_a_bag,
    sharing.one_strain_a_bag,
    sharing.pieces_have_a_bag_each,
    sharing.only_small_pieces_share,
    sharing.shared_bags_have_room,
    sharing.divided_bags_have_a_pocket_each,
    company.touchy_kinds_travel_alone,
    company.few_share_a_bag,
    company.soft_bags_are_double,
    company.sharp_bags_are_double,
    company.only_small_frags_lie,
    company.soft_never_above_others,
    company.soft_boards_cover_no_others,
    risks.musts_ride_apart,
    risks.strains_ride_apart,
    risks.low_bags_are_sealed_first,
    risks.thin_bags_are_opened_first,
    risks.boxes_are_opened_from_the_top,
    risks.last_pieces_stay,
    risks.strain_counts_agree,
    filling.fill_leaves_room_for_the_gas_to_swell,
    filling.contents_fit_the_bag,
    filling.bags_are_as_large_as_filled,
    filling.pieces_fit_their_bag,
    filling.corals_have_water_and_gas,
    filling.bags_are_as_bought,
    masses.bag_mass_is_what_is_in_it,
    masses.box_mass_is_the_sum_of_its_parts,
    masses.boxes_have_a_liner,
    masses.absorbent_takes_the_water,
    masses.boxes_are_not_too_heavy,
    masses.billed_mass_follows_the_terms,
    margins.margins_add_up,
    margins.need_covers_the_journey,
    margins.need_follows_the_orders,
    margins.hold_percentiles_are_in_order,
    margins.censored_shares_agree,
    margins.horizon_is_far_enough,
    margins.series_fit_the_hours,
    margins.series_are_possible,
    margins.chances_follow_the_margins,
    margins.legs_join,
    margins.times_are_in_order,
    told.told_journey_is_of_this_plan,
    told.habit_is_held_against_this_plan,
    verdicts.ready_means_all_musts_hold,
    verdicts.left_out_counts_agree,
    verdicts.lines_keep_their_rank,
    verdicts.no_mother_is_sent_with_her_cuts,
    changes.withdrawn_pieces_stay_behind,
    changes.labels_are_never_used_again,
    changes.the_last_change_is_packed,
    changes.sealed_bags_keep_their_turn,
    goals.goals_count_what_goes,
    goals.billed_goal_is_what_the_boxes_bill,
    goals.bounds_lie_beyond_the_values,
    goals.gaps_add_up,
    goals.optimum_names_the_open_goal,
    offers.costs_add_up,
    offers.other_ways_count_right,
    offers.substitutes_are_free,
    offers.substitutes_fit_their_bags,
    offers.every_line_names_its_substitutes,
    offers.lines_without_substitutes_say_so,
    workdays.tasks_end_after_they_start,
    workdays.tasks_wait_for_each_other,
    workdays.tasks_have_no_circle,
    workdays.no_task_lies_in_the_past,
    workdays.ready_plans_start_in_time,
    workdays.cuts_heal_before_packing,
    workdays.pieces_are_ready_when_packed,
    workdays.dips_leave_time_to_rest,
    workdays.everything_sent_is_packed,
    workdays.boxes_are_handed_over_at_departure,
    receiving.bands_are_in_order,
    receiving.demand_is_of_one_mineral,
    receiving.demand_days_rise,
    receiving.supply_that_is_outgrown_says_so,
    receiving.biofilter_verdict_follows,
    receiving.tank_lists_name_what_is_sent,
    receiving.light_starts_gently,
    receiving.places_are_taken_once,
    standing.pieces_stand_in_the_tank,
    standing.strangers_keep_their_distance,
    standing.clones_do_not_overlap,
    standing.gaps_are_as_they_stand,
    standing.soft_corals_stand_down_current,
    standing.pieces_stand_in_their_light,
    standing.glue_runs_towards_the_viewer,
    standing.free_spots_are_free,
    standing.the_lamp_rises_gently,
    standing.corrections_are_slow,
    standing.bags_open_by_the_clock,
    standing.stages_hold_every_piece_once,
    cautions.cautions_are_given_where_due,
    cautions.papers_follow_the_genus,
)
"""Every rule, in the order in which findings are told."""

SWITCHES: Mapping[Rule, PackingRule] = {
    company.touchy_kinds_travel_alone: PackingRule.TOUCHY_ALONE,
    company.soft_bags_are_double: PackingRule.SOFT_DOUBLED,
    company.sharp_bags_are_double: PackingRule.SHARP_DOUBLED,
    company.only_small_frags_lie: PackingRule.ONLY_SMALL_LIE,
    company.soft_never_above_others: PackingRule.SOFT_NEVER_ABOVE,
    company.soft_boards_cover_no_others: PackingRule.SOFT_NEVER_ABOVE,
    loads.nothing_rests_on_fragile_corals: PackingRule.FRAGILE_ON_TOP,
    loads.mass_is_centred: PackingRule.MASS_CENTRED,
    walls.sensitive_bags_stand_off_the_walls: PackingRule.SENSITIVE_OFF_WALLS,
    risks.musts_ride_apart: PackingRule.SPREAD_MUSTS,
    risks.strains_ride_apart: PackingRule.SPREAD_STRAINS,
    risks.thin_bags_are_opened_first: PackingRule.THINNEST_OPENED_FIRST,
    risks.last_pieces_stay: PackingRule.KEEP_LAST_PIECE,
    placement.bags_cannot_shift: PackingRule.VOIDS_FILLED,
    offers.every_line_names_its_substitutes: PackingRule.PROPOSE_SPARES,
}
"""Rules that are not asked for when the plan says that the shipment switched them off."""


def check_plan(plan: Plan, reference: Reference) -> tuple[Finding, ...]:
    """Return everything in a plan that breaks a rule; an empty answer means that the plan holds."""
    return tuple(
        Finding(rule_name(rule), fault.text, fault.where)
        for rule in rules_for(plan)
        for fault in rule(plan, reference)
    )


def rules_for(plan: Plan) -> tuple[Rule, ...]:
    """Return the rules that a plan has to keep: all but those that its shipment switched off."""
    off = {setting.rule for setting in switched_off(plan)}
    return tuple(rule for rule in RULES if SWITCHES.get(rule) not in off)


def switched_off(plan: Plan) -> tuple[RuleSetting, ...]:
    """Return the rules of packing that the shipment of a plan switched off; these are taken at its word."""
    return tuple(setting for setting in plan.rules if not setting.on)


def rule_name(rule: Rule) -> str:
    """Return the name under which a rule reports."""
    return str(rule.__name__)


def rule_words(rule: Rule) -> str:
    """Return a rule in words."""
    return (rule.__doc__ or "").strip().splitlines()[0]
