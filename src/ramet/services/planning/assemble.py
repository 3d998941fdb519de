"""Integers and arrays become a plan in units here; every rounding of a shown number happens here."""

import platform
from collections.abc import Sequence
from importlib.metadata import version

from ramet import __version__
from ramet.domain.words import PackingRule
from ramet.formats.plan import (
    Bag,
    Box,
    Caution,
    Chosen,
    Goal,
    LeftOut,
    MadeFrom,
    Optimum,
    Pack,
    Pad,
    Plan,
    ShipmentHead,
    Terms,
)
from ramet.optimise.problem import Board, Problem, Result
from ramet.optimise.surfaces import board_mass_g, board_rect
from ramet.services.calendar.work_back import WorkBack
from ramet.services.planning.absorbent import absorbent_g
from ramet.services.planning.boxing import LidPack, ReadyBox, billed_kg
from ramet.services.planning.candidates import Candidates
from ramet.services.planning.cautions import cautions
from ramet.services.planning.foretold import Foretold
from ramet.services.planning.gaps import gap_fills
from ramet.services.planning.gather import Inputs
from ramet.services.planning.grouping import ancestors
from ramet.services.planning.listening import GOAL_WORDS, gap_of, shown_value
from ramet.services.planning.loads import Load
from ramet.services.planning.receiving_tank import Received
from ramet.services.planning.rules import rule_settings
from ramet.services.planning.strain_left import strain_left
from ramet.services.planning.tighten import Packed
from ramet.services.planning.verdict import judge
from ramet.services.planning.void_fill import fills_under


def assemble(
    inputs: Inputs,
    found: Candidates,
    ready: Sequence[ReadyBox],
    packed: Packed,
    foretold: Foretold,
    missing: Sequence[LeftOut],
    received: Received,
    calendar: WorkBack,
) -> Plan:
    """Return the plan that all stages amount to."""
    loads = packed.loads
    forecast = foretold.rows
    status, verdict = judge(inputs, loads, forecast.bags, missing, calendar.problems)
    return Plan(
        status=status,
        verdict=verdict,
        shipment=_shipment_head(inputs, loads),
        seed=inputs.seed,
        made_from=_made_from(inputs),
        horizon_h=foretold.horizon_h,
        chosen=chosen_pieces(inputs, loads),
        left_out=tuple(missing),
        bags=bag_rows(loads),
        boxes=_box_rows(inputs, ready, packed),
        tasks=calendar.tasks,
        forecast=forecast,
        tank=received.report,
        optimum=_optimum(packed.result),
        cautions=(
            *cautions(inputs, loads, ready, forecast.bags),
            *received.cautions,
            *(
                Caution(code="calendar", text=text, source="the calendar of this plan")
                for text in (*calendar.problems, *calendar.cautions)
            ),
        ),
        defaults_used=_defaults_used(found, loads),
        rules=rule_settings(inputs.rules),
        journey=foretold.told,
    )


def chosen_pieces(inputs: Inputs, loads: Sequence[Load]) -> tuple[Chosen, ...]:
    """Return the pieces that go, in the order of the request lines."""
    rows = []
    roots = ancestors(inputs.stock.pieces)
    left = strain_left(inputs, loads)
    for load, one in [(bag, one) for bag in loads for one in bag.parcel.candidates]:
        request = inputs.shipment.request[one.request]
        genus = inputs.reference.genus(one.taxon)
        rows.append(
            Chosen(
                request=request.id,
                piece=one.piece,
                strain=one.strain,
                taxon=one.taxon,
                bag_class=one.bag_class,
                how=one.how,
                rank=request.rank,
                bag=load.id,
                form=one.form,
                size_mm=one.size_mm,
                mother=one.mother,
                ancestor=roots.get((one.mother or one.piece).casefold()),
                ready_on=one.ready_on,
                source=one.stock.source,
                permit=one.stock.permit,
                cites=None if genus is None else genus.cites,
                toxin=None if genus is None else genus.toxin,
                value=request.value,
                strain_left=left.get(one.strain.casefold(), 0),
                last_may_go=request.last_of_strain,
            )
        )
    lines = [request.id for request in inputs.shipment.request]
    return tuple(sorted(rows, key=lambda row: (lines.index(row.request), row.piece)))


def bag_rows(loads: Sequence[Load]) -> tuple[Bag, ...]:
    """Return the bags in the order in which they are sealed."""
    return tuple(_bag(load) for load in sorted(loads, key=lambda one: one.sealing_order))


def _shipment_head(inputs: Inputs, loads: Sequence[Load]) -> ShipmentHead:
    """Return who, whom and when."""
    shipment = inputs.shipment
    return ShipmentHead(
        name=shipment.name,
        sender=shipment.sender.name,
        sender_place=shipment.sender.place,
        sender_zone=shipment.sender.zone,
        receiver=shipment.receiver.name,
        receiver_place=shipment.receiver.place,
        receiver_zone=shipment.receiver.zone,
        lay_hands=shipment.receiver.lay_hands,
        sealed_from=inputs.clock.sealed_from(len(loads)),
        departs=inputs.clock.departs,
        arrives=inputs.clock.arrives,
        due=inputs.clock.due,
        terms=Terms(
            divisor_cm3_kg=shipment.carrier.divisor_cm3_kg,
            side_rounding=shipment.carrier.side_rounding,
            mass_step_kg=shipment.carrier.mass_step_kg,
        ),
    )


def _made_from(inputs: Inputs) -> MadeFrom:
    """Return hashes and versions of all inputs."""
    return MadeFrom(
        ramet=__version__,
        today=inputs.today,
        effort=inputs.effort.value,
        ledger_version=inputs.stock.version,
        ledger_sha256=inputs.stock.sha256,
        shipment_sha256=inputs.shipment_sha256,
        reference_sha256=inputs.reference.sha256,
        overrides=inputs.reference.overrides,
        solver=f"OR-Tools CP-SAT {version('ortools')}",
        platform=f"{platform.system()} {platform.machine()} Python {platform.python_version()}",
    )


def _box_rows(inputs: Inputs, ready: Sequence[ReadyBox], packed: Packed) -> tuple[Box, ...]:
    """Return the boxes that hold something."""
    rows = []
    for number, box in enumerate(ready):
        inside = [load for load in packed.loads if load.box == box.id]
        boards = [one for one in packed.result.boards if one.bin == number]
        if inside:
            fills = fills_under(boards, packed.problem, packed.result)
            rows.append(_box(inputs, box, inside, boards, fills, packed.problem))
    return tuple(rows)


def _defaults_used(found: Candidates, loads: Sequence[Load]) -> tuple[str, ...]:
    used = set(found.defaults_used)
    for load in loads:
        used.update(load.parcel.living.defaults_used)
    return tuple(sorted(used))


def _bag(load: Load) -> Bag:
    way = load.way
    return Bag(
        id=load.id,
        pieces=tuple(one.piece for one in load.parcel.candidates),
        goods=None if load.parcel.goods is None else load.parcel.goods.name,
        bag_class=load.parcel.bag_class,
        type=way.type.id,
        stance=way.stance,
        water_l=way.water_l,
        gas_l=way.gas_l,
        gas=way.gas,
        film_um=way.type.film_um,
        layers=way.layers,
        compartments=way.type.compartments,
        closed_l=way.type.closed_l,
        size_mm=load.size_mm,
        mass_kg=way.mass_g / 1000,
        box=load.box,
        at_mm=load.at_mm,
        sealing_order=load.sealing_order,
        opening_order=load.opening_order,
    )


def _box(
    inputs: Inputs,
    box: ReadyBox,
    loads: Sequence[Load],
    boards: Sequence[Board],
    fills: tuple[Pad, ...],
    problem: Problem,
) -> Box:
    board_kg = sum(board_mass_g(problem, board) for board in boards) / 1000
    soaks_g = sum(absorbent_g(load.way.water_l, inputs.reference) for load in loads)
    bags_kg = sum(load.way.mass_g for load in loads) / 1000
    mass_kg = round(box.empty_kg + board_kg + bags_kg + soaks_g / 1000, 3)
    pads = (*(_pad(board, problem) for board in boards), *fills)
    if PackingRule.VOIDS_FILLED in inputs.rules:
        pads = (*pads, *gap_fills(box, loads, pads, inputs.reference))
    return Box(
        id=box.id,
        type=box.type.id,
        inner_mm=box.inner_mm,
        outer_mm=box.outer_mm,
        wall_mm=box.type.wall_mm,
        mass_kg=mass_kg,
        tare_kg=box.tare_kg,
        max_kg=box.max_kg,
        billed_kg=max(box.dimensional_kg, billed_kg(mass_kg, inputs.shipment.carrier)),
        packs=tuple(_pack(pack) for pack in box.packs),
        pads=pads,
        bags=tuple(load.id for load in sorted(loads, key=lambda one: one.sealing_order)),
        absorbent_g=soaks_g,
    )


def _pad(board: Board, problem: Problem) -> Pad:
    x, y, length, width = board_rect(problem, board)
    return Pad(kind="board", at_mm=(x, y, board.z_mm), size_mm=(length, width, problem.board_mm))


def _pack(pack: LidPack) -> Pack:
    return Pack(
        kind=pack.type.id,
        warms=pack.type.warms,
        at_mm=pack.at_mm,
        size_mm=pack.size_mm,
        outside_liner=True,
        air_gap_mm=round(pack.type.air_gap_mm),
        reason=pack.reason,
    )


def _optimum(result: Result) -> Optimum:
    """Return the goals with bounds and gaps; the head is the first goal not proven, else the last."""
    goals = tuple(_goal(one.goal, one.value, one.bound, one.proven) for one in result.goals)
    head = next((goal for goal in goals if not goal.proven), goals[-1])
    return Optimum(
        goals=goals, value=head.value, bound=head.bound, gap=head.gap, stopped_early=result.stopped_early
    )


def _goal(goal: str, value: int, bound: int, proven: bool) -> Goal:
    shown, limit = shown_value(goal, value), shown_value(goal, bound)
    return Goal(goal=GOAL_WORDS[goal], value=shown, bound=limit, gap=gap_of(shown, limit), proven=proven)
