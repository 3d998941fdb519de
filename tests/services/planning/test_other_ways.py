"""One box fewer, one more, a second day, and what stands ready for a rejected piece."""

from functools import cache

import pytest
from small_shipment import (
    DIGITS,
    HONEYCOMB,
    OK_SMALL,
    REFERENCE,
    STOCK,
    inputs,
    piece,
    request,
    run_stages,
    small_plan,
)

from ramet.check.plan_check import check_plan
from ramet.formats.plan import Plan
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.plan import make_plan
from ramet.services.planning.spares import ranked_substitutes

BOX = {"type": "my small one", "inner_mm": [150, 75, 190], "wall_mm": 40, "foam": "eps_i"}
TIGHT = {"box": [BOX | {"tare_kg": 0.6, "max_kg": 10, "count": 2}]}
FRAGS = tuple(piece(f"S{k}", f"Sill {k}", "Stylophora pistillata", "branching", 40) for k in range(1, 10))
WISH = request("stubs", "want", 6, taxon="Stylophora", last_of_strain=True, may_cut=False)


@cache
def tight() -> Plan:
    return make_plan(inputs(FRAGS, request=[WISH], **TIGHT))


def test_a_full_box_is_told_what_one_fewer_one_more_and_a_second_day_carry() -> None:
    plan = tight()
    ways = {way.kind: way for way in plan.other_ways}
    assert 0 < len(plan.chosen) < 6
    assert set(ways) == {"one_box_fewer", "one_box_more", "two_days"}
    assert ways["one_box_fewer"].pieces < len(plan.chosen) < ways["one_box_more"].pieces
    assert ways["one_box_more"].gains == {"stubs": ways["one_box_more"].pieces - len(plan.chosen)}
    assert ways["two_days"].pieces > len(plan.chosen)
    assert "in boxes like these" in ways["two_days"].text  # the first are on the road by then
    assert check_plan(plan, REFERENCE) == ()


def test_where_everything_goes_in_one_box_there_is_no_other_way_to_tell() -> None:
    assert small_plan().other_ways == ()


# Strain, taxon, form, size, pieces; one line for each strain. The torches are the last to find room.
MANY = (
    ("Dock 1", "Montipora digitata", "branching", (30, 22, 28), 8),
    ("Sill 1", "Stylophora pistillata", "branching", (32, 25, 30), 5),
    ("Field 1", "Favites abdita", "massive", (25, 25, 20), 4),
    ("Sluice 1", "Montipora digitata", "branching", (30, 22, 28), 3),
    ("Echo 1", "Euphyllia glabrescens", "phaceloid", (40, 40, 40), 3),
    ("Zinc 1", "Zoanthus sp.", "mat", (25, 25, 12), 4),
    ("Lamp 1", "Sarcophyton glaucum", "leather", (30, 30, 30), 3),
    ("Arch 1", "Acropora millepora", "branching", (30, 20, 35), 12),
)


def test_a_box_more_that_would_let_a_line_in_is_not_said_to_carry_nothing_more() -> None:
    # Musts and copies of a strain must be spread over two boxes, which a short search may miss.
    pieces, lines = [], []
    for strain, taxon, form, (length, width, height), count in MANY:
        for k in range(count + 1):
            size = {"width_mm": width, "height_mm": height} if k else {}
            parent = f"{strain[:2]}0" if k else None
            pieces.append(
                piece(f"{strain[:2]}{k}", strain, taxon, form, length if k else 120, parent=parent, **size)
            )
        rank = {"Dock 1": "must", "Lamp 1": "filler", "Arch 1": "filler"}.get(strain, "want")
        lines.append(
            request(strain.split()[0].lower(), rank, count, strain=strain, may_cut=False, max_length_mm=60)
        )
    plan = make_plan(inputs(pieces, request=lines))
    more = next(way for way in plan.other_ways if way.kind == "one_box_more")
    let_in = {
        line.request
        for line in plan.left_out
        if any(one.tried and one.would_fit_if == "one more box like A" for one in line.reasons)
    }
    assert let_in
    assert let_in & more.gains.keys()


def test_a_box_more_that_carries_nothing_more_says_so_and_no_more() -> None:
    # The small box cannot take the leather, and neither can another like it.
    box = BOX | {"tare_kg": 0.6, "max_kg": 10, "inner_mm": [100, 100, 190]}
    pieces = [*FRAGS[:1], piece("L1", "Lamp 1", "Sarcophyton glaucum", "leather", 110)]
    lines = [
        WISH | {"count": 1},
        request("parasol", "filler", 1, form="leather", last_of_strain=True, may_cut=False),
    ]
    plan = make_plan(inputs(pieces, request=lines, box=[box]))
    (way,) = plan.other_ways
    assert (way.kind, way.gains, way.loses) == ("one_box_more", {}, {})
    assert "nothing more" in way.text
    assert "billed" not in way.text


def test_other_ways_bill_and_cost_by_the_pound_as_the_plan_does() -> None:
    pound = 0.45359237
    rates = [{"up_to_kg": lb * pound, "price": lb} for lb in range(1, 71)]
    plan = make_plan(inputs(FRAGS, request=[WISH], carrier={"mass_step_kg": pound, "rate": rates}, **TIGHT))
    assert plan.cost is not None
    for way in plan.other_ways:
        assert way.cost is not None
        assert float(way.cost) * pound == pytest.approx(way.billed_kg, abs=2e-3)


def test_each_line_names_the_next_best_and_the_bag_that_fits_it() -> None:
    lines = {line.request: line for line in small_plan().substitutes}
    assert set(lines) == {"digits", "honeycomb", "toadstool", "buttons"}
    going = {one.piece for one in small_plan().chosen}
    (ready,) = lines["honeycomb"].ranked
    assert {ready.piece} == {"F1", "F2"} - going


def test_only_a_piece_of_the_same_taxon_is_said_to_fit_a_bag_as_it_is() -> None:
    # Another genus breathes at its own rate: the water and gas of the bag were not worked out for it.
    mats = [
        piece("Z1", "Zinc 1", "Zoanthus sp.", "mat", 40, height_mm=15),
        piece("Z2", "Zinc 1", "Zoanthus sp.", "mat", 38, height_mm=15),
        piece("P1", "Pewter 1", "Palythoa sp.", "mat", 35, height_mm=15),
    ]
    buttons = {"id": "buttons", "rank": "want", "count": 1, "class": "zoanthid", "last_of_strain": True}
    stages = run_stages(inputs(mats, request=[buttons | {"min_length_mm": 40}]))
    any_size = inputs(mats, request=[buttons])
    (line,) = ranked_substitutes(any_size, find_candidates(any_size), stages.packed.loads)
    fits = {one.piece: bool(one.bags) for one in line.ranked}
    assert fits == {"Z2": True, "P1": False}


def test_a_line_with_nothing_else_in_stock_says_so_and_a_mother_is_named_for_a_spare_cut() -> None:
    few = [one for one in STOCK if one.piece in {"F1", "F2"}]
    plan = make_plan(inputs(few, request=[HONEYCOMB | {"count": 2, "last_of_strain": True}]))
    assert plan.substitutes[0].ranked == ()
    assert "nothing else in stock" in plan.substitutes[0].note
    mothers = [piece("D3", "Dock 1", "Montipora digitata", "branching", 150)]
    cut = make_plan(inputs(mothers, request=[DIGITS]))
    assert "cut a spare from D3" in cut.substitutes[0].note


def test_the_rule_can_be_switched_off() -> None:
    assert make_plan(inputs(request=[HONEYCOMB], rules={"propose_spares": False})).substitutes == ()
    assert OK_SMALL.shipment.rules.propose_spares
