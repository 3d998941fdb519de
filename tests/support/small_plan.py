"""A small plan made by hand that keeps every rule: one box, two layers, six bags. All names are invented.

Lower layer: a massive coral and a pair of zoanthids in rigid cups, media in a small bag, a leather in a
double bag that lies (its sender switched off the rule against that). A board. Upper layer: a branching coral
and an Euphyllia in cups. Heat in the lid.
"""

from copy import deepcopy
from typing import Any

from plan_parts import band, biofilter, demand, goal, in_a_bag, light, made_from, optimum, steady

from ramet.domain.words import PackingRule
from ramet.formats.plan import Plan

VOIDS = tuple(
    {"kind": "void", "at_mm": list(at), "size_mm": list(size)}
    for at, size in (
        ((160, 110, 0), (145, 119, 40)),
        ((0, 175, 0), (160, 54, 40)),
        ((205, 65, 0), (100, 45, 40)),
        ((0, 100, 70), (305, 129, 30)),
        ((200, 0, 70), (105, 100, 30)),
    )
)
"""Paper in the gaps beside the bags of each layer."""

HOURS = [6.0 * step for step in range(13)]
STANDING = (
    ("P1", (100, 500), 207),
    ("P4", (350, 450), 202),
    ("P6", (600, 400), 202),
    ("P5", (1100, 300), 452),
    ("P2", (150, 150), 311),
    ("P3", (200, 120), 318),
)
"""Piece, its place in the receiving tank, the gap to the nearest of another strain (worked out by hand)."""
CAUTIONS = (
    "check_rules",
    "electricity",
    "wounds",
    "bag_water",
    "never_aerate",
    "wildlife_marks",
    "palytoxin",
    "palytoxin_cleanup",
    "saw_aerosol",
    "rest_after_cut",
    "dip_chemicals",
    "heat_pack",
    "lay_hands",
    "lay_hands_toxic",
    "stinging",
    "soft",
    "cites",
    "late_margin",
    "no_feeding",
    "tissue_on_film",
    "brittle_tips",
)


def small_plan() -> Plan:
    """Return the plan."""
    return Plan.model_validate(small_dict())


def changed(*changes: tuple[str, Any]) -> Plan:
    """Return the plan with some values replaced; a path such as `bags.0.at_mm` says where."""
    data = small_dict()
    for path, value in changes:
        *way, last = [int(key) if key.isdigit() else key for key in path.split(".")]
        spot: Any = data
        for key in way:
            spot = spot[key]
        spot[last] = value
    return Plan.model_validate(data)


def rules_but(*off: str) -> tuple[str, Any]:
    """Return the rules of packing as a plan lists them, all on but these: a change to the plan."""
    words = {rule.value: f"{rule.value} in words." for rule in PackingRule}
    return ("rules", [{"rule": rule, "words": words[rule], "on": rule not in off} for rule in words])


def small_dict() -> dict[str, Any]:
    """Return the plan as plain data."""
    return deepcopy(
        {
            "status": "ready",
            "verdict": "Everything asked for travels and holds on time.",
            "shipment": _shipment(),
            "seed": 1,
            "made_from": made_from(7, "a b c", "none", "none"),
            "horizon_h": 72.0,
            "chosen": _chosen(),
            "left_out": [
                {
                    "request": "spare",
                    "rank": "filler",
                    "wanted": 3,
                    "sent": 0,
                    "reasons": [
                        {"code": "no_room", "text": "no room is left", "would_fit_if": "another box"}
                    ],
                }
            ],
            "bags": _bags(),
            "boxes": [_box()],
            "tasks": _tasks(),
            "forecast": _forecast(),
            "tank": _tank(),
            "optimum": optimum(
                goal("musts", 1.0),
                goal("wants", 5.0, 6.0),
                goal("value of fillers", 10.0),
                goal("billed mass (kg)", 6.0),
            ),
            "cautions": [{"code": code, "text": code, "source": "practice"} for code in CAUTIONS],
            "defaults_used": [],
            "rules": rules_but("only_small_lie")[1],
            "substitutes": [
                {"request": line, "ranked": [], "note": "look after what goes"}
                for line in sorted({one["request"] for one in _chosen()})
            ],
        }
    )


def _shipment() -> dict[str, Any]:
    return {
        "name": "Small reef",
        "sender": "Harbour Culture Room",
        "sender_zone": "America/Chicago",
        "receiver": "Plains Library",
        "receiver_zone": "America/Phoenix",
        "lay_hands": True,
        "sealed_from": "2027-01-19T14:00:00-06:00",
        "departs": "2027-01-19T15:30:00-06:00",
        "arrives": "2027-01-20T10:00:00-07:00",
        "due": "2027-01-20T11:00:00-07:00",
        "terms": {"divisor_cm3_kg": 5000.0, "side_rounding": "up_cm", "mass_step_kg": 0.5},
    }


def _piece(
    piece: str, taxon: str, bag_class: str, form: str, size: list[int], bag: str, **more: Any
) -> dict[str, Any]:
    return {
        "request": f"line of {taxon}",
        "piece": piece,
        "strain": f"strain of {taxon}",
        "taxon": taxon,
        "class": bag_class,
        "how": "whole",
        "rank": "want",
        "bag": bag,
        "form": form,
        "size_mm": size,
        "ready_on": "2027-01-04",
        "value": 10,
        "strain_left": 3,
        "ancestor": f"first of {taxon}",
        **more,
    }


def _chosen() -> list[dict[str, Any]]:
    acropora = {"cites": "II", "how": "cut", "mother": "M4", "ready_on": "2027-01-15"}
    return [
        _piece("P1", "Favites pentagona", "stony", "massive", [45, 40, 30], "A1", cites="II", rank="must"),
        _piece("P2", "Zoanthus sociatus", "zoanthid", "mat", [40, 35, 20], "A2", toxin="palytoxin"),
        _piece("P3", "Zoanthus sociatus", "zoanthid", "mat", [38, 35, 20], "A2", toxin="palytoxin"),
        _piece("P4", "Acropora millepora", "stony", "branching", [50, 40, 30], "A4", **acropora),
        _piece("P5", "Sarcophyton glaucum", "soft", "leather", [60, 50, 40], "A5"),
        _piece("P6", "Euphyllia glabrescens", "stinging", "phaceloid", [55, 50, 45], "A6", cites="II"),
    ]


def _bag(name: str, order: int, **more: Any) -> dict[str, Any]:
    cup = {
        "type": "cup_480",
        "stance": "stands",
        "water_l": 0.2,
        "gas_l": 0.2,
        "gas": "air",
        "film_um": 500.0,
        "layers": 1,
        "closed_l": 0.485,
        "size_mm": [100, 100, 65],
        "mass_kg": 0.3,
        "box": "A",
    }
    return {"id": name, **cup, "sealing_order": order, "opening_order": 7 - order, **more}


def _bags() -> list[dict[str, Any]]:
    lies = {"stance": "lies", "film_um": 75.0}
    goods = {
        "type": "round_102x254",
        "closed_l": 0.43,
        "water_l": 0.05,
        "size_mm": [90, 65, 65],
        "mass_kg": 0.15,
    }
    leather = {"type": "round_102x305", "closed_l": 0.572, "water_l": 0.15, "gas_l": 0.35, "mass_kg": 0.29}
    small_cup = {"type": "cup_240", "closed_l": 0.243, "water_l": 0.11, "gas_l": 0.1, "mass_kg": 0.18}
    return [
        _bag("A1", 1, pieces=["P1"], **{"class": "stony"}, at_mm=[0, 0, 0]),
        _bag("A2", 2, pieces=["P2", "P3"], **{"class": "zoanthid"}, at_mm=[100, 0, 0]),
        _bag("A3", 3, pieces=[], goods="media", **{"class": "goods"}, **goods, **lies, at_mm=[205, 0, 0]),
        _bag(
            "A4", 4, pieces=["P4"], **{"class": "stony"}, **small_cup, size_mm=[86, 86, 45], at_mm=[0, 0, 70]
        ),
        _bag(
            "A5",
            5,
            pieces=["P5"],
            **{"class": "soft"},
            **leather,
            **lies,
            layers=2,
            size_mm=[160, 65, 65],
            at_mm=[0, 110, 0],
        ),
        _bag("A6", 6, pieces=["P6"], **{"class": "stinging"}, at_mm=[100, 0, 70], mass_kg=0.35),
    ]


def _box() -> dict[str, Any]:
    """Mass: box 0.759, bags 0.3 + 0.3 + 0.15 + 0.18 + 0.29 + 0.35, pack 0.12, board 0.042, gel 0.023 kg."""
    return {
        "id": "A",
        "type": "frag_305x229",
        "tare_kg": 0.759,
        "inner_mm": [305, 229, 203],
        "outer_mm": [363, 287, 261],
        "wall_mm": 25.0,
        "mass_kg": 2.514,
        "max_kg": 12.0,
        "absorbent_g": 23,
        "billed_kg": 6.0,
        "packs": [
            {
                "kind": "heat_40h",
                "warms": True,
                "at_mm": [77, 59, 191],
                "size_mm": [150, 110, 12],
                "outside_liner": True,
                "air_gap_mm": 40,
                "reason": "a night at the depot",
            }
        ],
        "pads": [{"kind": "board", "at_mm": [0, 0, 65], "size_mm": [305, 229, 5]}, *VOIDS],
        "bags": ["A1", "A2", "A3", "A4", "A5", "A6"],
    }


def _task(
    name: str, kind: str, starts: str, ends: str, pieces: list[str], after: list[str], **more: Any
) -> dict[str, Any]:
    return {
        "id": name,
        "kind": kind,
        "title": f"{name} of the small plan",
        "pieces": pieces,
        "starts": f"2027-01-{starts}:00-06:00",
        "ends": f"2027-01-{ends}:00-06:00",
        "latest_start": f"2027-01-{starts}:00-06:00",
        "bench_min": 15,
        "after": after,
        **more,
    }


def _tasks() -> list[dict[str, Any]]:
    everything = ["P1", "P2", "P3", "P4", "P5", "P6"]
    return [
        _task("cut-1", "cut", "05T10:00", "05T10:30", ["P4"], []),
        _task("dip-1", "dip", "16T10:00", "16T11:00", everything, ["cut-1"], gap_h=48.0),
        _task("pack-A", "pack", "19T14:00", "19T15:15", everything, ["dip-1"]),
        _task("handover", "handover", "19T15:30", "19T15:45", [], ["pack-A"]),
        _task("open", "open", "20T12:00", "20T12:40", everything, ["handover"]),
    ]


def _forecast() -> dict[str, Any]:
    return {
        "scenarios": 256,
        "late_h": 24.0,
        "hours": HOURS,
        "legs": [
            {"name": "van", "start_h": 0.0, "end_h": 4.0, "surroundings": "vehicle"},
            {"name": "depot", "start_h": 4.0, "end_h": 19.5, "surroundings": "depot"},
        ],
        "ambient_c": steady(-4.0, 2.0, 8.0, len(HOURS)),
        "boxes": [{"id": "A", "temperature": steady(20.0, 22.0, 24.0, len(HOURS))}],
        "bags": [_bag_forecast(name) for name in ("A1", "A2", "A3", "A4", "A5", "A6")],
    }


def _bag_forecast(name: str) -> dict[str, Any]:
    return {
        "id": name,
        "hold_h": {"p05": 40.0, "p50": 55.0, "p95": 72.0, "censored_share": 0.0625},
        "needed_h": 22.5,
        "margin_h": 17.5,
        "margin_late_h": -6.5,
        "first_limit": "oxygen",
        "chance_ok": 0.99,
        "hangs_on": "respiration",
        "opened_ammonia_umol_l": 0.1,
        "series": in_a_bag(
            steady(20.0, 22.0, 24.0, len(HOURS)),
            steady(3.0, 5.0, 6.5, len(HOURS)),
            steady(7.2, 7.5, 7.8, len(HOURS)),
            steady(0.0, 0.05, 0.1, len(HOURS)),
        ),
    }


def _demand(day: int, dkh: float) -> dict[str, Any]:
    """1 dKH a day takes 7.147 mg/L of calcium with it (0.35665 meq, half of it in mmol, 40.078 g/mol)."""
    calcium = round(dkh * 7.147, 3)
    return demand(
        day,
        band(dkh / 2, dkh, dkh * 2, "dKH/d"),
        band(calcium / 2, calcium, calcium * 2, "mg/L/d"),
        band(0.01, 0.05, 0.1, "mg/L/d"),
    )


def _tank() -> dict[str, Any]:
    pieces = ["P1", "P2", "P3", "P4", "P5", "P6"]
    return {
        "volume_l": 400.0,
        "demand": [_demand(0, 0.05), _demand(30, 0.1), _demand(180, 0.4)],
        "supply": [
            {
                "means": "dosing",
                "alkalinity_dkh_d": 0.3,
                "calcium_mg_l_d": 2.2,
                "magnesium_mg_l_d": 0.2,
                "outgrown_on_day": 140,
            }
        ],
        "biofilter": biofilter(band(0.05, 0.1, 0.2, "g N/d"), band(0.1, 0.3, 0.6, "g N/d")),
        "light": [light(one, 150.0, 100.0, 160.0, "ramp") for one in pieces],
        "placement": [
            {
                "piece": one,
                "zone": "shelf",
                "at_mm": list(at),
                "gap_mm": gap,
                "order": index + 1,
                "par": {"P4": 220.0, "P6": 100.0}.get(one, 150.0),
            }
            for index, (one, at, gap) in enumerate(STANDING)
        ],
        "frame": {"length_mm": 1200, "width_mm": 600, "depth_mm": 500, "flow_from": "left"},
        "free_spots": [{"spot": "S9", "zone": "shelf", "at_mm": [800, 80], "room_mm": 90}],
        "lamp": {
            "steps": [
                {"day": 0, "share": 0.83, "power": 0.6},
                {"day": 7, "share": 0.91, "power": 0.66},
                {"day": 14, "share": 1.0, "power": 0.72},
            ],
            "photoperiod_h": 9,
            "map_from": "spots",
        },
        "corrections": [
            {"what": "alkalinity", "unit": "dKH", "now": 7.0, "target": 8.0, "per_day": 0.5, "days": 2}
        ],
        "staging": [
            {"week": 0, "pieces": pieces[:4], "reason": "the tank can take these"},
            {"week": 3, "pieces": pieces[4:], "reason": "not earlier"},
        ],
        "acclimation": [
            {
                "bag": bag,
                "float_min": 20,
                "steps": ["float", "move"],
                "clock": {
                    "float_from": 6 * number - 20,
                    "open_at": 6 * number,
                    "matched_at": 6 * number + 6,
                    "dip_until": 6 * number + 16,
                    "place_from": 6 * number + 18,
                },
            }
            for number, bag in enumerate(("A6", "A5", "A4", "A2", "A1"))
        ],
    }
