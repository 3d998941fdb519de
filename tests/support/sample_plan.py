"""An invented plan to draw papers from: every name, number and place in it is made up."""

from datetime import UTC, date, datetime, timedelta

from plan_parts import band, bands, biofilter, demand, goal, in_a_bag, light, made_from, optimum

from ramet.formats.plan import Plan

DEPARTS = datetime(2027, 1, 19, 21, 30, tzinfo=UTC)
HOURS = tuple(float(hour) for hour in range(0, 97, 2))
HORIZON_H = 96.0

KINDS = (
    ("Acropora millepora", "stony", "branching", "Winter Fern", 61, "CITES appendix II", None),
    ("Montipora capricornis", "stony", "plating", "Slate Saucer", 74, "CITES appendix II", None),
    ("Euphyllia glabrescens", "stinging", "phaceloid", "Lantern Row", 58, "CITES appendix II", None),
    ("Sarcophyton glaucum", "soft", "leather", "Old Parasol", 83, None, None),
    ("Zoanthus sociatus", "zoanthid", "mat", "Button Lane", 42, None, "palytoxin"),
    ("Favites pentagona", "stony", "massive", "Quarry Wall", 49, "CITES appendix II", None),
    ("Seriatopora hystrix", "stony", "branching", "Hoarfrost", 52, "CITES appendix II", None),
)
RANKS = ("must", "must", "want", "want", "filler", "want", "filler")


def sample_plan(
    bags: int = 8, *, boxes: int = 2, name: str = "Library reef", long_names: bool = False
) -> Plan:
    """Return a valid plan with `bags` bags in `boxes` boxes."""
    return Plan.model_validate(sample_dict(bags, boxes=boxes, name=name, long_names=long_names))


def sample_dict(bags: int, *, boxes: int, name: str, long_names: bool) -> dict:
    """Return the plan as plain data, for tests that change it."""
    packed = [_bag(i, bags, boxes, long_names) for i in range(bags)]
    chosen = [one for i, bag in enumerate(packed) for one in _chosen(i, bag, long_names)]
    return {
        "status": "short",
        "verdict": "Every must travels and holds on time. Two filler lines stay behind for want of room, "
        "and one bag would not hold a day late.",
        "shipment": {
            "name": name,
            "sender": "Northshore Culture Room",
            "sender_zone": "America/Chicago",
            "sender_place": "14 Example Street, Duluth MN",
            "receiver": "Dry River Public Library",
            "receiver_zone": "America/Phoenix",
            "receiver_place": "200 Sample Avenue, Tucson AZ",
            "lay_hands": True,
            "sealed_from": DEPARTS - timedelta(hours=2),
            "departs": DEPARTS,
            "arrives": DEPARTS + timedelta(hours=20),
            "due": DEPARTS + timedelta(hours=22),
        },
        "seed": 1,
        "made_from": made_from(131, "a3 b4 c5", "cp-sat", "linux"),
        "horizon_h": HORIZON_H,
        "chosen": chosen,
        "left_out": _left_out(),
        "bags": packed,
        "boxes": [_box(b, packed) for b in range(boxes)],
        "tasks": _tasks([one["piece"] for one in chosen]),
        "forecast": _forecast(packed, boxes),
        "tank": _tank(chosen, packed),
        "optimum": optimum(goal("musts", 2)),
        "cautions": _cautions(),
        "defaults_used": ["Seriatopora: respiration of its class"],
    }


def _bag(i: int, bags: int, boxes: int, long_names: bool) -> dict:
    _, bag_class, _, _, _, _, _ = KINDS[i % len(KINDS)]
    per_box = -(-bags // boxes)
    box, slot = divmod(i, per_box)
    row, column = divmod(slot % 6, 3)
    layer = slot // 6
    pieces = [f"P{i + 1:03d}"] if i % 3 else [f"P{i + 1:03d}", f"P{i + 1:03d}b"]
    if bag_class in ("soft", "stinging"):
        pieces = pieces[:1]
    return {
        "id": f"A{i + 1:02d}",
        "pieces": pieces,
        "class": bag_class,
        "type": "square-bottom bag 6 × 15 in, reinforced, long wording"
        if long_names
        else "flat bag 150 × 380",
        "stance": "lies" if i % 5 == 3 else "stands",
        "water_l": 0.45 + 0.05 * (i % 3),
        "gas_l": 0.9,
        "gas": "oxygen" if i % 2 == 0 else "air",
        "film_um": 76.0,
        "layers": 2,
        "closed_l": 1.7,
        "size_mm": [104, 110, 130] if i % 5 != 3 else [110, 120, 90],
        "mass_kg": 0.55,
        "box": f"box-{box + 1}",
        "at_mm": [6 + 122 * column, 8 + 130 * row, 5 + 140 * layer],
        "sealing_order": bags - i,
        "opening_order": i + 1,
    }


def _chosen(i: int, bag: dict, long_names: bool) -> list[dict]:
    taxon, bag_class, form, strain, size, cites, toxin = KINDS[i % len(KINDS)]
    return [
        {
            "request": f"R{i % len(KINDS) + 1}",
            "piece": piece,
            "strain": f"{strain} of the long back wall, second line, grown under the low lamp"
            if long_names
            else strain,
            "taxon": "Pseudodiploastrea cf. heliopora-mirabilissima" if long_names else taxon,
            "class": bag_class,
            "how": "cut" if i % 2 else "whole",
            "rank": RANKS[i % len(KINDS)],
            "bag": bag["id"],
            "form": form,
            "size_mm": [size, size - 12, size - 20],
            "mother": "M07" if i % 2 else None,
            "ready_on": date(2027, 1, 16),
            "source": "cultured, F" if cites else None,
            "permit": "PERMIT-0000" if cites else None,
            "cites": cites,
            "toxin": toxin,
            "value": 10,
        }
        for piece in bag["pieces"]
    ]


def _left_out() -> list[dict]:
    return [
        {
            "request": "R12",
            "rank": "filler",
            "wanted": 4,
            "sent": 1,
            "reasons": [
                {
                    "code": "no_room",
                    "text": "no room is left in the two boxes once every must and want is in",
                    "would_fit_if": "one more small box, or one want fewer in box-2",
                }
            ],
        },
        {
            "request": "R15",
            "rank": "want",
            "wanted": 1,
            "sent": 0,
            "reasons": [
                {
                    "code": "held",
                    "text": "P077 shares water with a piece that had flatworms",
                    "would_fit_if": "the due date were 9 Feb or later, after three clean inspections",
                    "piece": "P077",
                }
            ],
        },
    ]


def _box(b: int, packed: list[dict]) -> dict:
    mine = [bag["id"] for bag in packed if bag["box"] == f"box-{b + 1}"]
    two_layers = any(bag["at_mm"][2] > 100 for bag in packed if bag["box"] == f"box-{b + 1}")
    return {
        "id": f"box-{b + 1}",
        "type": "foam box 38",
        "inner_mm": [380, 300, 330],
        "outer_mm": [450, 370, 400],
        "wall_mm": 32.0,
        "mass_kg": 7.85,
        "max_kg": 14.0,
        "billed_kg": 13.5,
        "packs": [
            {
                "kind": "heat pack 40 h",
                "warms": True,
                "at_mm": [130, 100, 310],
                "size_mm": [120, 95, 15],
                "outside_liner": True,
                "air_gap_mm": 40,
                "reason": "without it the coldest bag falls below 18 °C in 31 % of the scenarios",
            }
        ],
        "pads": [
            {"kind": "fill", "at_mm": [6, 272, 0], "size_mm": [368, 24, 120]},
            *([{"kind": "board", "at_mm": [0, 0, 138], "size_mm": [380, 300, 5]}] if two_layers else []),
        ],
        "bags": mine,
    }


def _tasks(pieces: list[str]) -> list[dict]:
    def task(key, kind, title, start, minutes, bench, after=(), note="", some=()):
        return {
            "id": key,
            "kind": kind,
            "title": title,
            "pieces": list(some),
            "starts": start,
            "ends": start + timedelta(minutes=minutes),
            "latest_start": start + timedelta(hours=6),
            "bench_min": bench,
            "after": list(after),
            "note": note,
        }

    morning = DEPARTS - timedelta(hours=7)
    return [
        task("T1", "cut", "Cut from the mothers", morning - timedelta(days=11), 90, 75, some=pieces[:4]),
        task("T2", "dip", "First dip and look at the bases", morning - timedelta(days=6), 60, 60, ("T1",)),
        task("T3", "inspect", "Inspect with a lens", morning - timedelta(days=1), 45, 45, ("T2",)),
        task("T4", "feed", "Last feeding", morning - timedelta(days=2), 10, 10),
        task("T5", "go_no_go", "Go / no-go: weather, tank test, somebody there", morning, 15, 0, ("T3",)),
        task(
            "T6",
            "pack",
            "Seal the bags in order, fill the boxes",
            DEPARTS - timedelta(hours=2),
            110,
            110,
            ("T5",),
            some=pieces,
        ),
        task("T7", "handover", "Hand over to the carrier", DEPARTS - timedelta(minutes=10), 10, 0, ("T6",)),
        task(
            "T8", "open", "Open the bags in order", DEPARTS + timedelta(hours=20, minutes=30), 80, 80, ("T7",)
        ),
    ]


def _forecast(packed: list[dict], boxes: int) -> dict:
    ambient = [-12.0 if 4 <= hour < 14 else 18.0 for hour in HOURS]
    box = [24.0 - 0.09 * hour for hour in HOURS]
    return {
        "scenarios": 256,
        "late_h": 24.0,
        "hours": HOURS,
        "legs": [
            {"name": "van to the depot", "start_h": 0, "end_h": 4, "surroundings": "vehicle"},
            {"name": "night at the cold hub", "start_h": 4, "end_h": 14, "surroundings": "depot"},
            {"name": "flight", "start_h": 14, "end_h": 17.5, "surroundings": "aircraft"},
            {"name": "van to the library", "start_h": 17.5, "end_h": 20, "surroundings": "vehicle"},
        ],
        "ambient_c": bands(ambient, 4.0),
        "boxes": [{"id": f"box-{b + 1}", "temperature": bands(box, 1.1)} for b in range(boxes)],
        "bags": [_bag_forecast(i, bag) for i, bag in enumerate(packed)],
    }


def _bag_forecast(i: int, bag: dict) -> dict:
    need = 23.5 + 0.1 * i
    p05 = min(HORIZON_H, need + 4.3 + 7.0 * i)
    return {
        "id": bag["id"],
        "hold_h": {
            "p05": p05,
            "p50": min(HORIZON_H, p05 + 14),
            "p95": min(HORIZON_H, p05 + 60),
            "censored_share": 0.3,
        },
        "needed_h": need,
        "margin_h": p05 - need,
        "margin_late_h": p05 - need - 24.0,
        "first_limit": "oxygen below 2 mg/L for 6 h" if i % 2 == 0 else "colder than 18 °C for 5 h",
        "chance_ok": 0.97,
        "hangs_on": "respiration",
        "opened_ammonia_umol_l": 1.2,
        "limits": [
            {
                "code": "cold",
                "words": "colder than 18 °C for 5 h",
                "quantity": "temperature_c",
                "below": True,
                "level": 18.0,
                "hours": 5,
            },
            {
                "code": "low_oxygen",
                "words": "oxygen below 2 mg/L for 6 h",
                "quantity": "oxygen_mg_l",
                "below": True,
                "level": 2.0,
                "hours": 6,
            },
        ],
        "series": in_a_bag(
            bands([24.2 - 0.085 * hour for hour in HOURS], 0.9),
            bands([1.0 + 13.0 * 0.975**hour for hour in HOURS], 0.8),
            bands([7.3 + 0.8 * 0.93**hour for hour in HOURS], 0.06),
            bands([0.2 + 0.004 * hour for hour in HOURS], 0.05),
        ),
    }


def _tank(chosen: list[dict], packed: list[dict]) -> dict:
    return {
        "volume_l": 400.0,
        "demand": [
            demand(
                day,
                band(0.1, 0.2, 0.5, "dKH/d"),
                band(1, 2, 3, "mg/L/d"),
                band(0.1, 0.2, 0.3, "mg/L/d"),
            )
            for day in (0, 30, 90, 180)
        ],
        "supply": [
            {
                "means": "carbonate stock by pump",
                "alkalinity_dkh_d": 0.9,
                "calcium_mg_l_d": 0.0,
                "magnesium_mg_l_d": 0.0,
                "dose_ml_d": 14.0,
                "outgrown_on_day": None,
                "note": "start at half",
            },
            {
                "means": "water change 10 % a week",
                "alkalinity_dkh_d": 0.1,
                "calcium_mg_l_d": 0.6,
                "magnesium_mg_l_d": 1.8,
                "note": "",
            },
        ],
        "biofilter": biofilter(
            band(0.1, 0.2, 0.4, "g N/d"), band(0.2, 0.6, 1.1, "g N/d"), "counted on the matured media sent"
        ),
        "light": [
            light(one["piece"], 180.0, 100.0, 220.0, "raise slowly; hold if it pales") for one in chosen
        ],
        "placement": [
            {
                "piece": one["piece"],
                "zone": "upper shelf" if i % 2 else "sand, front",
                "at_mm": [150 + 70 * i, 200],
                "gap_mm": 80,
                "order": i + 1,
                "note": "downstream of the leathers" if i % 4 == 0 else "",
            }
            for i, one in enumerate(chosen)
        ],
        "acclimation": [
            {
                "bag": bag["id"],
                "float_min": 0 if i == 2 else 20 + i,
                "steps": [
                    "Float the sealed bag.",
                    "Cut it open and move the coral at once into the tub.",
                    "Bring the tub to the tank's water over 30 minutes.",
                ],
            }
            for i, bag in enumerate(packed)
        ],
    }


def _cautions() -> list[dict]:
    ask = " Check your local rules and ask a licensed professional."
    return [
        {
            "code": "palytoxin",
            "text": "Zoanthus and Palythoa may carry palytoxin: gloves, eye and face cover; never hot "
            "water, steam or dry sawing." + ask,
            "source": "hamade2015",
        },
        {
            "code": "late_margin",
            "text": "Bag A01 would not hold if the carrier is a day late.",
            "source": "this plan",
        },
        {
            "code": "cites",
            "text": "Stony corals are listed in CITES appendix II; the papers of origin travel with "
            "every cut." + ask,
            "source": "cites_ac22",
        },
        {
            "code": "heavy_box",
            "text": "Lift boxes with two people when they weigh over 9 kg at floor height.",
            "source": "niosh94110",
        },
    ]
