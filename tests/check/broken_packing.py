"""Changes to the small plan that break rules of sharing, spreading, filling and offers."""

from typing import Any

from small_plan import VOIDS, changed, rules_but, small_dict

from ramet.formats.plan import Plan

BOARD = {"kind": "board", "at_mm": [0, 0, 65], "size_mm": [305, 229, 5]}
RULES_ON = rules_but()
NO_SHARING = rules_but("only_small_lie", "share_bags")
BILLED_KG = small_dict()["boxes"][0]["billed_kg"]
COST: dict[str, Any] = {
    "currency": "USD",
    "zone": "5",
    "total": "84.00",
    "per_piece": "14.00",
    "boxes": [{"box": "A", "billed_kg": BILLED_KG, "price": "84.00"}],
}
LINES = small_dict()["substitutes"]
FAVITES = "Favites"
WAY: dict[str, Any] = {
    "kind": "one_box_more",
    "text": "One box more: 7 pieces",
    "boxes": 2,
    "pieces": 7,
    "billed_kg": 10.0,
    "gains": {"spare": 1},
    "loses": {},
    "proven": True,
}


def ready(piece: str, bag: str, **other: Any) -> tuple[str, Any]:
    """A change to the small plan: one substitute for its massive coral, in place of none."""
    one = {"piece": piece, "strain": "s", "taxon": "Favites abdita", "size_mm": [40, 40, 30], "how": "whole"}
    ranked = [one | {"bags": [bag]} | other]
    lines = [line | {"ranked": ranked} if FAVITES in line["request"] else line for line in LINES]
    return ("substitutes", lines)


LAST_OF_STRAIN = {
    "code": "last_of_strain",
    "text": "Nothing of “strain of Favites pentagona” is left in stock by now.",
    "source": "the stock",
}
BOX_BY_BOX = rules_but("only_small_lie", "thinnest_opened_first")
PAIR_IN_POCKETS = [("bags.1.type", "divided_2x76x203"), ("bags.1.compartments", 2)]
ONE_OF_TWO_SYSTEMS = [("chosen.1.ancestor", "Z1"), ("chosen.2.ancestor", "Z9")]


def in_two_boxes(*changes: tuple[str, Any]) -> Plan:
    """Return the small plan with its last bag in a second box like the first."""
    box = small_dict()["boxes"][0]
    first, second = box | {"bags": ["A1", "A2", "A3", "A4", "A5"]}, box | {"id": "B", "bags": ["A6"]}
    return changed(("boxes", [first, second]), ("bags.5.box", "B"), *changes)


def with_like_cups_above(*changes: tuple[str, Any]) -> Plan:
    """Return the small plan with two cups of one size on its board: at the walls A4, off them A6."""
    gaps = (
        ((196, 0, 70), (109, 229, 30)),
        ((0, 161, 70), (196, 68, 30)),
        ((0, 86, 70), (110, 75, 30)),
        ((86, 0, 70), (110, 75, 30)),
    )
    paper = [{"kind": "void", "at_mm": list(at), "size_mm": list(size)} for at, size in gaps]
    cup = {"type": "cup_240", "closed_l": 0.243, "water_l": 0.11, "gas_l": 0.1, "mass_kg": 0.18}
    return changed(
        *[(f"bags.5.{key}", value) for key, value in cup.items()],
        ("bags.5.size_mm", [86, 86, 45]),
        ("bags.5.at_mm", [110, 75, 70]),
        ("boxes.0.pads", [BOARD, *VOIDS[:3], *paper]),
        ("boxes.0.mass_kg", 2.344),
        *changes,
    )


LEATHER_ON_BOARD = changed(
    ("bags.4.at_mm", [0, 160, 70]),
    ("boxes.0.pads", [BOARD, {"kind": "fill", "at_mm": [0, 170, 0], "size_mm": [160, 50, 65]}]),
)
"""The leather stands clear of all others, yet on a board that covers them."""
CHANGED_PLACES = [("bags.3.at_mm", [110, 75, 70]), ("bags.5.at_mm", [0, 0, 70])]


def opened_in_this_order(*names: str) -> Plan:
    """Return the small plan opened so, its bags told to break in the order of their sealing."""
    told = [_told(bag["id"], bag["sealing_order"]) for bag in small_dict()["bags"]]
    leg = {
        "name": "van",
        "start": "2027-01-19T15:30:00-06:00",
        "end": "2027-01-20T10:00:00-07:00",
        "surroundings": "vehicle",
        "low_c": 10,
        "high_c": 20,
    }
    journey = {"legs": [leg], "delay": {"at_leg": "van"}, "heat_packs": "yes", "room_c": 25, "boxes": []}
    held = [(f"forecast.bags.{at}.hold_h.p05", 40.0) for at in range(6)]
    orders = [(f"bags.{at}.opening_order", names.index(f"A{at + 1}") + 1) for at in range(6)]
    return changed(("journey", journey | {"bags": told}), *held, *orders)


def _told(bag: str, sealed_before_h: float) -> dict[str, Any]:
    return {
        "id": bag,
        "sealed_before_h": sealed_before_h,
        "oxygen_fraction": 0.21,
        "rigid": False,
        "surface_cm2": 50,
        "film_area_cm2": 300,
        "start_c": 25,
        "salinity": 35,
        "alkalinity_meq_l": 2.5,
        "ph_total": 8,
        "blank_umol_h": [0, 0, 0],
        "animals": [],
        "limits": [],
    }


BREAKS: dict[str, list[Plan]] = {
    "bags_cannot_shift": [changed(("boxes.0.pads", [BOARD])), changed(("boxes.0.pads", [BOARD, *VOIDS[:3]]))],
    "sensitive_bags_stand_off_the_walls": [
        with_like_cups_above(),
        with_like_cups_above(("bags.3.at_mm", [9, 0, 70]), ("boxes.0.pads", [BOARD, *VOIDS[:3]])),
    ],
    "absorbent_takes_the_water": [changed(("boxes.0.absorbent_g", grams)) for grams in (0, 1, 12)],
    "soft_boards_cover_no_others": [LEATHER_ON_BOARD],
    "boxes_have_a_liner": [
        changed(("boxes.0.tare_kg", None)),
        changed(("boxes.0.tare_kg", 0.679)),
        changed(("boxes.0.tare_kg", 0.9)),
        changed(("boxes.0.type", "my own"), ("boxes.0.tare_kg", 0.01)),
    ],
    "packs_are_held": [changed(("boxes.0.packs.0.at_mm", [77, 59, 190]))],
    "costs_add_up": [
        changed(("cost", COST | {"total": "90.00"})),
        changed(("cost", COST | {"per_piece": "20.00"})),
        changed(("cost", COST | {"boxes": []})),
    ],
    "other_ways_count_right": [
        changed(("other_ways", [WAY | {"pieces": 9}])),
        changed(("other_ways", [WAY | {"loses": {"line of Zoanthus sociatus": 4}}])),
    ],
    "substitutes_are_free": [
        changed(ready("P1", "A1")),
        changed(ready("X1", "A5")),
        changed(ready("M4", "A1")),
    ],
    "substitutes_fit_their_bags": [
        changed(ready("X1", "A1", size_mm=[31, 41, 45])),
        changed(ready("X1", "A1", taxon="Zoanthus sociatus")),
        changed(ready("X1", "A1", taxon="a genus that no table has")),
        changed(ready("X1", "A2", taxon="Zoanthus sociatus", size_mm=[30, 30, 20])),
    ],
    "every_line_names_its_substitutes": [
        changed(("substitutes", [])),
        changed(("substitutes", LINES[1:])),
        changed(("substitutes", [*LINES, LINES[0]])),
        changed(("substitutes", [*LINES, {"request": "line of nothing", "ranked": [], "note": "none"}])),
    ],
    "lines_without_substitutes_say_so": [changed(("substitutes.0.note", ""))],
    "pieces_have_a_bag_each": [changed(NO_SHARING)],
    "only_small_pieces_share": [
        changed(("chosen.1.size_mm", [95, 35, 20])),
        changed(("bags.1.class", "stinging")),
    ],
    "shared_bags_have_room": [
        changed(("chosen.1.size_mm", [79, 79, 20]), ("chosen.2.size_mm", [79, 79, 20])),
        changed(("bags.1.stance", "lies")),
        changed(*PAIR_IN_POCKETS, ("chosen.1.size_mm", [60, 60, 20])),
    ],
    "divided_bags_have_a_pocket_each": [
        changed(("bags.1.compartments", 2)),
        changed(("bags.0.type", "divided_2x76x203"), ("bags.0.compartments", 2)),
    ],
    "sharp_bags_are_double": [changed(("bags.3.type", "round_102x254"))],
    "only_small_frags_lie": [changed(RULES_ON), changed(RULES_ON, ("chosen.4.form", "massive"))],
    "musts_ride_apart": [in_two_boxes(("chosen.1.rank", "must"))],
    "strains_ride_apart": [in_two_boxes()],
    "low_bags_are_sealed_first": [changed(("bags.0.sealing_order", 4), ("bags.3.sealing_order", 1))],
    "thin_bags_are_opened_first": [opened_in_this_order("A5", "A6", "A4", "A3", "A2", "A1")],
    "last_pieces_stay": [
        changed(("chosen.0.strain_left", 0)),
        changed(("chosen.0.strain_left", None)),
        changed(("chosen.0.strain_left", 0), ("chosen.1.last_may_go", True)),
        changed(
            ("chosen.0.strain_left", 0),
            ("cautions", [*small_dict()["cautions"], LAST_OF_STRAIN]),
        ),
    ],
    "strain_counts_agree": [
        changed(("chosen.1.strain_left", 2)),
        changed(("chosen.3.strain_left", 0), ("chosen.3.last_may_go", True)),
    ],
    "boxes_are_opened_from_the_top": [
        changed(BOX_BY_BOX, ("bags.0.opening_order", 3), ("bags.3.opening_order", 6)),
        in_two_boxes(BOX_BY_BOX, ("bags.5.opening_order", 2), ("bags.4.opening_order", 1)),
    ],
    "boxes_hold_something": [
        changed(("boxes", [*small_dict()["boxes"], small_dict()["boxes"][0] | {"id": "B", "bags": []}]))
    ],
    "every_rule_of_packing_is_told": [
        changed(("rules", [])),
        changed(("rules", small_dict()["rules"][1:])),
        changed(("rules", [*small_dict()["rules"], small_dict()["rules"][0] | {"on": False}])),
        changed(("rules.0.words", " ")),
    ],
}
"""For each of these rules, plans that break it."""
