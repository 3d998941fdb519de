"""Changes to the small plan, each of which breaks a rule."""

from collections.abc import Callable
from typing import Any

from broken_packing import BOARD, ONE_OF_TWO_SYSTEMS, PAIR_IN_POCKETS
from broken_packing import BREAKS as PACKING_BREAKS
from small_plan import VOIDS, changed, small_dict

from ramet.formats.plan import Plan


def without(*paths: str) -> Plan:
    """Return the small plan without some list items, the last of a list first."""
    return edited(
        lambda data: [_at(data, path.rpartition(".")[0]).pop(int(path.rpartition(".")[2])) for path in paths]
    )


def edited(edit: Callable[[dict[str, Any]], object]) -> Plan:
    data = small_dict()
    edit(data)
    return Plan.model_validate(data)


def _at(data: Any, path: str) -> Any:
    for key in path.split("."):
        data = data[int(key) if key.isdigit() else key]
    return data


LINER = ("boxes.0.packs.0.outside_liner", False)
SOFT_PACK = [
    ("boxes.0.packs.0.kind", "pcm_22_227g"),
    ("boxes.0.packs.0.warms", False),
    ("boxes.0.packs.0.air_gap_mm", 0),
]
ICE = [("boxes.0.packs.0.kind", "ice_250g"), ("boxes.0.packs.0.warms", False)]
SMALL_CUP = {"type": "cup_240", "closed_l": 0.243, "water_l": 0.11, "gas_l": 0.1, "mass_kg": 0.18}
NARROW_BAG = {"type": "round_76x203", "closed_l": 0.162, "water_l": 0.1, "gas_l": 0.05, "mass_kg": 0.28}
LOW_CUPS = [
    (f"bags.{index}.{key}", value)
    for index in (0, 1)
    for key, value in (SMALL_CUP | {"size_mm": [100, 100, 50]}).items()
]
LOW_LEATHER = [
    *((f"bags.4.{key}", value) for key, value in (NARROW_BAG | {"size_mm": [160, 65, 50]}).items()),
    ("boxes.0.pads", [BOARD, {"kind": "fill", "at_mm": [0, 110, 50], "size_mm": [160, 65, 15]}, *VOIDS]),
]
LIGHTER = ("boxes.0.mass_kg", 2.264)
"""The box with low cups and the low leather."""
ON_TOP = [0, 0, 70]
ONE_MINUTE_EARLY = "2027-01-18T13:59:00-06:00"

BAGS = ("A1", "A2", "A3", "A4", "A5", "A6")
LEGS = tuple(leg["name"] for leg in small_dict()["forecast"]["legs"])
NEEDS_H = {bag["id"]: bag["needed_h"] for bag in small_dict()["forecast"]["bags"]}


def told(
    *bags: str,
    boxes: tuple[str, ...] = ("A",),
    legs: tuple[str, ...] = LEGS,
    sealed_before_h: tuple[float, ...] = (3.0,) * 6,
) -> dict[str, Any]:
    """What a plan keeps of its journey; all numbers that no rule reads are alike."""
    water = {"start_c": 25.0, "salinity": 35.0, "alkalinity_meq_l": 2.4, "ph_total": 8.0}
    shape = {"oxygen_fraction": 0.2095, "rigid": False, "surface_cm2": 50.0, "film_area_cm2": 500.0}
    rest = {"blank_umol_h": [0, 1, 2], "animals": [], "limits": []}
    days = [f"2027-01-{19 + place}T12:00:00-06:00" for place in range(len(legs) + 1)]
    return {
        "legs": [
            {"name": name, "start": start, "end": end, "surroundings": "depot", "low_c": 20.0, "high_c": 22.0}
            for name, start, end in zip(legs, days, days[1:], strict=False)
        ],
        "delay": {"at_leg": legs[-1]},
        "heat_packs": "yes",
        "room_c": 25.0,
        "boxes": [{"id": box, "foam": "eps_i"} for box in boxes],
        "bags": [
            {"id": bag, "sealed_before_h": hours, **water, **shape, **rest}
            for bag, hours in zip(bags, sealed_before_h, strict=False)
        ],
    }


def habit(*bags: str, margin_h: float = 1.0, holding: int = 6, planned_holding: int = 6) -> dict[str, Any]:
    """A habit held against the small plan."""
    typical = {"coldest_c": 22.0, "warmest_c": 25.0, "least_oxygen_mg_l": 5.0, "lowest_ph": 7.2}
    return {
        **{"name": "our habit", "words": "80 % water", "sha256": "0" * 64, "scenarios": 64},
        **{"water_l": 2.0, "planned_water_l": 1.0, "holding": holding, "planned_holding": planned_holding},
        "bags": [
            {
                **{"id": bag, "water_l": 0.3, "hold_p05_h": NEEDS_H[bag] + 1.0, "hold_p50_h": 60.0},
                **{"margin_h": margin_h, "margin_late_h": -20.0, "chance_ok": 0.9, "first_limit": "cold"},
                **typical,
            }
            for bag in bags
        ],
    }


def at_the_bench(*withdrawn: str, **more: Any) -> tuple[str, Any]:
    """A change to the small plan: pieces withdrawn from it one after the other, `more` about the last."""
    told = {"on": "2027-01-19", "ledger_version": 8, "sealed": [], "brought_in": [], "bags": []}
    changes = [told | {"withdrawn": piece, "words": [f"{piece} is withdrawn."]} for piece in withdrawn]
    return ("changes", [*changes[:-1], changes[-1] | more])


BREAKS: dict[str, list[Plan]] = {
    **PACKING_BREAKS,
    "names_are_unique": [changed(("bags.1.id", "a1")), changed(("tasks.1.id", "cut-1"))],
    "chosen_pieces_are_bagged_once": [
        changed(("bags.1.pieces", ["P2"])),
        changed(("bags.0.pieces", ["P1", "P9"])),
        changed(("bags.0.pieces", ["P1", "P2"])),
        changed(("chosen.0.bag", "A2")),
    ],
    "bags_hold_something": [
        changed(("bags.0.pieces", [])),
        changed(("bags.0.goods", "media")),
        changed(("bags.2.class", "stony")),
    ],
    "bags_are_boxed_once": [
        changed(("boxes.0.bags", ["A1", "A2", "A3", "A4", "A5"])),
        changed(("boxes.0.bags", ["A1", "A2", "A3", "A4", "A5", "A6", "A7"])),
        changed(("boxes.0.bags", ["A1", "A1", "A2", "A3", "A4", "A5", "A6"])),
        changed(("bags.0.box", "B")),
    ],
    "orders_run_through": [changed(("bags.0.sealing_order", 2)), changed(("bags.0.opening_order", 9))],
    "forecasts_cover_every_bag_and_box": [without("forecast.bags.5"), changed(("forecast.boxes.0.id", "B"))],
    "nothing_overlaps": [
        changed(("bags.1.at_mm", [99, 0, 0])),
        changed(("boxes.0.pads.0.at_mm", [0, 0, 64])),
        changed(("boxes.0.packs.0.at_mm", [77, 59, 130])),
    ],
    "all_is_inside": [
        changed(("bags.2.at_mm", [216, 0, 0])),
        changed(("boxes.0.packs.0.at_mm", [77, 59, 192])),
    ],
    "bags_rest_on_something": [
        changed(("bags.3.at_mm", [0, 0, 71])),
        changed(("bags.0.at_mm", [0, 0, 1])),
        changed(("bags.3.at_mm", [180, 120, 40])),
    ],
    "boards_rest_on_something": [
        changed(("boxes.0.pads.0.at_mm", [0, 0, 66])),
        changed(
            ("boxes.0.pads", [*VOIDS, {"kind": "board", "at_mm": [160, 110, 40], "size_mm": [100, 100, 5]}])
        ),
    ],
    "packs_keep_their_distance": [
        changed(("boxes.0.packs.0.at_mm", [77, 59, 174])),
        changed(("boxes.0.packs.0.air_gap_mm", 20)),
        changed(*SOFT_PACK, ("boxes.0.packs.0.at_mm", [77, 59, 135])),
    ],
    "packs_are_as_bought": [
        changed(("boxes.0.packs.0.kind", "stove")),
        changed(("boxes.0.packs.0.warms", False)),
        changed(("boxes.0.packs.0.size_mm", [150, 110, 10])),
    ],
    "frozen_packs_touch_no_bag": [changed(*ICE, ("boxes.0.packs.0.at_mm", [77, 59, 135]))],
    "heat_packs_can_breathe": [changed(LINER)],
    "no_heat_pack_goes_where_none_is_taken": [changed(("journey", told(*BAGS) | {"heat_packs": "no"}))],
    "outer_size_fits_walls": [changed(("boxes.0.outer_mm", [363, 287, 255]))],
    "boxes_are_as_bought": [
        changed(("boxes.0.inner_mm", [305, 229, 210])),
        changed(("boxes.0.wall_mm", 38.0)),
        changed(("boxes.0.max_kg", 13.0)),
    ],
    "no_bag_is_crushed": [changed(("bags.5.mass_kg", 21.0))],
    "nothing_rests_on_fragile_corals": [
        changed(("chosen.4.form", "branching")),
        changed(*LOW_LEATHER, ("chosen.4.form", "branching")),
    ],
    "stacks_are_not_too_high": [
        changed(
            ("bags.2.size_mm", [90, 65, 30]), ("bags.0.at_mm", [205, 0, 35]), ("bags.5.at_mm", [205, 0, 105])
        )
    ],
    "boards_do_not_tip": [
        changed(
            ("bags.0.size_mm", [100, 100, 50]),
            ("bags.1.size_mm", [100, 100, 50]),
            ("bags.4.size_mm", [160, 65, 50]),
        )
    ],
    "boards_share_their_bearers": [changed(("bags.5.mass_kg", 21.0))],
    "mass_is_centred": [changed(("bags.0.mass_kg", 5.0))],
    "classes_follow_the_genus": [
        changed(("chosen.5.class", "stony")),
        changed(("chosen.5.taxon", "Favites sp.")),
    ],
    "one_class_a_bag": [changed(("bags.0.class", "soft")), changed(("bags.1.pieces", ["P2", "P3", "P1"]))],
    "one_strain_a_bag": [changed(*ONE_OF_TWO_SYSTEMS), changed(("chosen.2.strain", "another"))],
    "touchy_kinds_travel_alone": [
        changed(("chosen.1.taxon", "Euphyllia glabrescens")),
        changed(("chosen.1.form", "leather")),
    ],
    "few_share_a_bag": [changed(("bags.1.pieces", ["P2", "P3", "P2a", "P2b", "P2c", "P2d", "P2e"]))],
    "soft_bags_are_double": [changed(("bags.4.layers", 1))],
    "soft_never_above_others": [changed(("bags.4.at_mm", ON_TOP))],
    "fill_leaves_room_for_the_gas_to_swell": [
        changed(("bags.0.gas_l", 0.28)),
        changed(("forecast.legs.0.surroundings", "aircraft")),
        changed(("journey", told(*BAGS)), ("journey.legs.0.pressure_atm", 0.8)),
    ],
    "bags_are_as_large_as_filled": [
        changed(("bags.0.size_mm", [98, 100, 65])),
        changed(("bags.0.size_mm", [100, 100, 63])),
        changed(("bags.4.size_mm", [149, 65, 65])),
        changed(("bags.4.size_mm", [160, 65, 63])),
        changed(("bags.4.stance", "stands")),
        changed(("bags.2.gas_l", 0.26)),
        changed(*PAIR_IN_POCKETS),
    ],
    "contents_fit_the_bag": [changed(("bags.0.size_mm", [80, 80, 60]))],
    "pieces_fit_their_bag": [changed(("chosen.0.size_mm", [102.0, 40.0, 30.0]))],
    "corals_have_water_and_gas": [changed(("bags.0.water_l", 0.0)), changed(("bags.0.gas_l", 0.0))],
    "bags_are_as_bought": [
        changed(("bags.0.type", "paper")),
        changed(("bags.0.stance", "lies")),
        changed(("bags.0.closed_l", 0.6)),
        changed(("bags.0.film_um", 75.0)),
    ],
    "bag_mass_is_what_is_in_it": [changed(("bags.0.mass_kg", 0.18)), changed(("bags.0.mass_kg", 0.6))],
    "box_mass_is_the_sum_of_its_parts": [
        changed(("boxes.0.mass_kg", 2.3)),
        changed(("boxes.0.mass_kg", 2.47)),
        changed(("boxes.0.mass_kg", 3.9)),
    ],
    "boxes_are_not_too_heavy": [changed(("boxes.0.max_kg", 2.4))],
    "billed_mass_follows_the_terms": [
        changed(("boxes.0.billed_kg", 5.5)),
        changed(("shipment.terms.side_rounding", "none")),
        changed(("shipment.terms", None), ("boxes.0.billed_kg", 2.0)),
    ],
    "margins_add_up": [
        changed(("forecast.bags.0.margin_h", 17.0)),
        changed(("forecast.bags.0.margin_late_h", 17.5)),
        changed(("forecast.late_h", 12.0)),
        changed(("forecast.bags.0.hold_late_p05_h", 41.0)),
    ],
    "need_covers_the_journey": [
        changed(("forecast.bags.0.needed_h", 20.4)),
        changed(("shipment.due", "2027-01-20T14:00:00-07:00")),
    ],
    "need_follows_the_orders": [changed(("forecast.bags.0.needed_h", 22.4))],
    "hold_percentiles_are_in_order": [
        changed(("forecast.bags.0.hold_h.p50", 39.0)),
        changed(("forecast.bags.0.hold_h.p95", 73.0)),
        changed(("forecast.bags.0.chance_ok", 1.1)),
    ],
    "censored_shares_agree": [
        changed(("forecast.bags.0.hold_h.censored_share", 0.0)),
        changed(("forecast.bags.0.hold_h.censored_share", 0.6)),
    ],
    "horizon_is_far_enough": [changed(("forecast.bags.0.needed_h", 25.0))],
    "series_fit_the_hours": [
        changed(("forecast.hours", [6.0 * step for step in range(12)])),
        changed(("forecast.hours.3", 12.0)),
        changed(("forecast.hours.0", 0.5)),
        changed(("forecast.bags.0.series.oxygen_mg_l.p05.4", 5.5)),
    ],
    "series_are_possible": [
        changed(("forecast.bags.0.series.oxygen_mg_l.p05.4", -0.1)),
        changed(("forecast.bags.0.series.ph_total.p95.4", 10.8)),
        changed(("forecast.boxes.0.temperature.p95.4", 295.0)),
        changed(("forecast.ambient_c.p05.4", -273.0)),
    ],
    "chances_follow_the_margins": [
        changed(("forecast.bags.0.margin_late_h", 0.0), ("forecast.bags.0.chance_ok", 0.5)),
        changed(("forecast.bags.0.needed_h", 56.0)),
    ],
    "legs_join": [
        changed(("forecast.legs.1.start_h", 5.0)),
        changed(("forecast.legs.1.end_h", 19.0)),
        changed(("forecast.legs.0.start_h", 0.5)),
    ],
    "times_are_in_order": [
        changed(("shipment.arrives", "2027-01-20T11:01:00-07:00")),
        changed(("made_from.today", "2027-01-20")),
        changed(("shipment.receiver_zone", "America/Nowhere")),
    ],
    "told_journey_is_of_this_plan": [
        changed(("journey", told())),
        changed(("journey", told("A1", "A2", "A3", "A4", "A5", "A7"))),
        changed(("journey", told(*BAGS, boxes=("A", "B")))),
        changed(("journey", told(*BAGS, legs=("van",)))),
        changed(("journey", told(*BAGS, sealed_before_h=(1.0, 2.0, 3.0, 4.0, 5.0, 6.0)))),
    ],
    "habit_is_held_against_this_plan": [
        changed(("usual", habit(*BAGS[1:]))),
        changed(("usual", habit(*BAGS, margin_h=9.0))),
        changed(("usual", habit(*BAGS, holding=3))),
        changed(("usual", habit(*BAGS, planned_holding=0))),
    ],
    "ready_means_all_musts_hold": [
        changed(("left_out.0.rank", "must")),
        changed(("forecast.bags.0.margin_h", -0.1)),
        changed(("status", "short")),
        changed(("status", "impossible")),
        edited(lambda data: data.update(bags=[], chosen=[])),
    ],
    "left_out_counts_agree": [
        changed(("left_out.0.sent", 1)),
        changed(("left_out.0.request", "line of Zoanthus sociatus")),
        changed(("left_out.0.wanted", 0)),
        edited(lambda data: data["left_out"].append(data["left_out"][0])),
    ],
    "lines_keep_their_rank": [changed(("chosen.1.rank", "filler")), changed(("chosen.1.value", 11))],
    "no_mother_is_sent_with_her_cuts": [
        changed(("chosen.3.mother", None)),
        changed(("chosen.3.mother", "P1")),
    ],
    "withdrawn_pieces_stay_behind": [changed(at_the_bench("P1")), changed(at_the_bench("P1", "P9"))],
    "labels_are_never_used_again": [changed(at_the_bench("P9", not_sent="A1"))],
    "the_last_change_is_packed": [
        changed(at_the_bench("P9", brought_in=["P8"])),
        changed(at_the_bench("P9", brought_in=["P1"], bags=["A2"])),
        changed(at_the_bench("P9", bags=["A7"])),
        changed(at_the_bench("P9", words=[])),
    ],
    "sealed_bags_keep_their_turn": [changed(at_the_bench("P9", sealed=["A1", "A3"]))],
    "goals_count_what_goes": [
        changed(("optimum.goals.0.value", 3.0)),
        changed(("optimum.goals.0.value", 0.0)),
        changed(("optimum.goals.1.value", 4.0)),
        changed(("optimum.goals.2.value", 0.0)),
        changed(("optimum.goals.2.value", 20.0)),
    ],
    "billed_goal_is_what_the_boxes_bill": [
        changed(("optimum.goals.3.value", 7.0)),
        changed(("optimum.goals.3.value", 6.5), ("shipment.terms", None)),
    ],
    "bounds_lie_beyond_the_values": [
        changed(("optimum.goals.1.bound", 4.0)),
        changed(("optimum.goals.3.bound", 6.5)),
    ],
    "gaps_add_up": [changed(("optimum.goals.1.gap", 0.25)), changed(("optimum.goals.1.proven", True))],
    "optimum_names_the_open_goal": [
        changed(("optimum.value", 1.0)),
        changed(("optimum.goals.0.proven", False)),
    ],
    "tasks_end_after_they_start": [
        changed(("tasks.0.ends", "2027-01-05T09:00:00-06:00")),
        changed(("tasks.3.bench_min", 20)),
    ],
    "tasks_wait_for_each_other": [
        changed(("tasks.2.after", ["dip-9"])),
        changed(("tasks.2.starts", "2027-01-16T10:30:00-06:00")),
        changed(("tasks.1.gap_h", 265.0)),
    ],
    "tasks_have_no_circle": [changed(("tasks.0.after", ["open"]))],
    "no_task_lies_in_the_past": [changed(("made_from.today", "2027-01-06"))],
    "ready_plans_start_in_time": [changed(("tasks.1.latest_start", "2027-01-16T09:00:00-06:00"))],
    "cuts_heal_before_packing": [
        changed(("tasks.0.ends", "2027-01-10T10:00:00-06:00")),
        changed(("tasks.0.pieces", [])),
        changed(("chosen.3.taxon", "Lobophyllia hemprichii"), ("chosen.3.form", "fleshy")),
    ],
    "pieces_are_ready_when_packed": [changed(("chosen.0.ready_on", "2027-01-20"))],
    "dips_leave_time_to_rest": [changed(("tasks.1.ends", "2027-01-17T14:02:00-06:00"))],
    "everything_sent_is_packed": [
        changed(("tasks.2.pieces", ["P1"])),
        changed(("tasks.2.kind", "look")),
        changed(("tasks.2.starts", ONE_MINUTE_EARLY)),
        changed(("tasks.2.starts", "2027-01-19T14:10:00-06:00")),
        changed(("tasks.2.ends", "2027-01-19T15:40:00-06:00")),
    ],
    "boxes_are_handed_over_at_departure": [
        without("tasks.3"),
        changed(("tasks.3.starts", "2027-01-19T15:32:00-06:00")),
        changed(("tasks.3.starts", "2027-01-18T15:30:00-06:00")),
        changed(("tasks.2.ends", "2027-01-19T15:32:00-06:00")),
    ],
    "bands_are_in_order": [
        changed(("tank.demand.0.alkalinity.low", 0.06)),
        changed(("tank.biofilter.ammonia_in.low", -0.1)),
    ],
    "demand_is_of_one_mineral": [
        changed(("tank.demand.2.calcium.typical", 2.0)),
        changed(*[(f"tank.demand.{index}.calcium.typical", 0.38) for index in range(3)]),
        changed(("tank.demand.0.alkalinity.typical", 0.06)),
    ],
    "demand_days_rise": [changed(("tank.demand.1.day", 0))],
    "supply_that_is_outgrown_says_so": [changed(("tank.supply.0.outgrown_on_day", None))],
    "biofilter_verdict_follows": [
        changed(
            ("tank.biofilter.capacity", {"low": 0, "typical": 0.09, "high": 1, "unit": "g N/d", "origin": ""})
        )
    ],
    "tank_lists_name_what_is_sent": [
        without("tank.light.0"),
        without("tank.placement.0"),
        without("tank.acclimation.0"),
        changed(("tank.placement.0.piece", "P9")),
    ],
    "light_starts_gently": [changed(("tank.light.0.start_par", 170.0)), changed(("tank.light.0.days", -1))],
    "pieces_stand_in_the_tank": [changed(("tank.placement.3.at_mm", [1250, 300]))],
    "strangers_keep_their_distance": [
        changed(("tank.placement.1.at_mm", [150, 500])),
        changed(("tank.frame.horizon_d", 1500)),
    ],
    "clones_do_not_overlap": [changed(("tank.placement.5.at_mm", [160, 150]))],
    "gaps_are_as_they_stand": [changed(("tank.placement.0.gap_mm", 230))],
    "soft_corals_stand_down_current": [
        changed(("tank.frame.flow_from", "right"), ("tank.placement.3.at_mm", [800, 430])),
        changed(("tank.frame.flow_from", "front"), ("tank.placement.3.at_mm", [620, 180])),
    ],
    "pieces_stand_in_their_light": [changed(("tank.placement.2.par", 300.0))],
    "glue_runs_towards_the_viewer": [
        changed(("tank.placement.0.order", 2), ("tank.placement.1.order", 1)),
        changed(("tank.frame.viewed_from", ["left"])),
    ],
    "free_spots_are_free": [changed(("tank.free_spots.0.at_mm", [100, 500]))],
    "the_lamp_rises_gently": [
        changed(("tank.lamp.steps.0.share", 0.7)),
        changed(("tank.lamp.steps.2.share", 0.95)),
        changed(("tank.lamp.steps.1.day", 2)),
    ],
    "corrections_are_slow": [
        changed(("tank.corrections.0.per_day", 1.2)),
        changed(("tank.corrections.0.days", 4)),
    ],
    "bags_open_by_the_clock": [
        changed(("tank.acclimation.1.clock.open_at", 40)),
        changed(("tank.acclimation.0.clock.place_from", 1)),
    ],
    "stages_hold_every_piece_once": [changed(("tank.staging.1.pieces", ["P5"]))],
    "places_are_taken_once": [
        changed(("tank.placement.1.at_mm", [100, 500])),
        changed(("tank.placement.1.order", 1)),
    ],
    "cautions_are_given_where_due": [without(f"cautions.{index}") for index in range(20)],
    "papers_follow_the_genus": [
        changed(("chosen.0.cites", None)),
        changed(("chosen.1.cites", "II")),
        changed(("chosen.1.toxin", None)),
    ],
}
"""For each rule, plans that break it."""
