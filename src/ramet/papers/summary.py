"""The plan in words for a terminal: 80 columns, no colour, the verdict first."""

import textwrap
from collections import Counter

from ramet.domain.words import Rank
from ramet.formats.plan import Bag, Box, Plan
from ramet.papers import words
from ramet.papers.facts_of import by_margin, cautions_in_order, pieces_of, reasons_by_code
from ramet.papers.notes import lines_in_order
from ramet.papers.reader_zone import zone_of

WIDTH = 80
THINNEST = 4
NEXT_TASKS = 5
MOST_CAUTIONS = 4
MOST_LEFT_OUT = 6
MOST_LETTERS = 140
MOST_LETTERS_OF_REASON = 260


def summary_text(plan: Plan) -> str:
    """Return what a grower needs to read before anything else, about fifty lines."""
    sections = (
        _verdict(plan),
        _section("Goes", _goes(plan)),
        _section("Stays behind", _stays(plan)),
        _section("Rules switched off by the shipment", _rules_off(plan)),
        _section("Boxes", _boxes(plan)),
        _section("Cost, and other ways", _ways(plan)),
        _section("Thinnest margins (5th percentile of the hold time less the time needed)", _margins(plan)),
        _section("Beside your usual way", _usual(plan)),
        _section("Next tasks", _tasks(plan)),
        _section("Read first", _cautions(plan)),
    )
    return "\n\n".join(section for section in sections if section) + "\n"


def _section(title: str, lines: list[str]) -> str:
    return "\n".join([title, "-" * min(len(title), WIDTH), *lines]) if lines else ""


def _wrapped(text: str, first: str = "  ", rest: str = "    ") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)


def _verdict(plan: Plan) -> str:
    head = plan.shipment
    lines = [
        f"{head.name}: {words.VERDICT[plan.status].upper()}",
        _wrapped(plan.verdict, "", ""),
        *([_wrapped(words.CUT_SHORT, "", "")] if plan.optimum.stopped_early else []),
        "",
        _wrapped(
            f"{head.sender}, leaves {words.zoned(head.departs, head.sender_zone)} -> {head.receiver}, "
            f"arrives {words.zoned(head.arrives, head.receiver_zone)}, "
            f"due {words.zoned(head.due, head.receiver_zone)}",
            "",
            "  ",
        ),
    ]
    return "\n".join(lines)


def _goes(plan: Plan) -> list[str]:
    if not plan.chosen:
        return ["  nothing"]
    ranks = ", ".join(
        f"{sum(one.rank is rank for one in plan.chosen)} {words.RANK[rank]}"
        for rank in Rank
        if any(one.rank is rank for one in plan.chosen)
    )
    water = words.litres(sum(bag.water_l for bag in plan.bags))
    lines = [
        f"  {words.plural(len(plan.chosen), 'piece')} ({ranks}) in {words.plural(len(plan.bags), 'bag')}, "
        f"{water} of water"
    ]
    taxa: dict[str, int] = {}
    for one in plan.chosen:
        taxa[one.taxon] = taxa.get(one.taxon, 0) + 1
    listed = ", ".join(f"{count} {taxon}" for taxon, count in sorted(taxa.items()))
    lines.append(_wrapped(listed))
    lines += [f"  goods: {bag.goods} (bag {bag.id})" for bag in plan.bags if bag.goods]
    return lines


def _stays(plan: Plan) -> list[str]:
    lines: list[str] = []
    by_rank = lines_in_order(plan)
    for left in by_rank[:MOST_LEFT_OUT]:
        reason = reasons_by_code(left)[0][0]
        lines.append(f"  {left.request} ({words.RANK[left.rank]}), {left.sent} of {left.wanted} go")
        lines.append(_wrapped(f"why: {_brief(reason.text, MOST_LETTERS_OF_REASON)}", "    ", "         "))
        if reason.would_fit_if not in reason.text:
            lines.append(
                _wrapped(
                    f"would go if: {_brief(reason.would_fit_if, MOST_LETTERS_OF_REASON)}", "    ", "         "
                )
            )
    if len(by_rank) > MOST_LEFT_OUT:
        more = words.plural(len(by_rank) - MOST_LEFT_OUT, "line")
        lines.append(f"  and {more} more; all reasons are in plan.json and in the notes of the packet")
    return lines


def _brief(text: str, most: int = MOST_LETTERS) -> str:
    return textwrap.shorten(text, most, placeholder=" …")


def _boxes(plan: Plan) -> list[str]:
    return [_wrapped(_box(plan, box)) for box in plan.boxes]


def _box(plan: Plan, box: Box) -> str:
    kinds = Counter(words.plain(pack.kind) for pack in box.packs)
    listed = ", ".join(f"{count} × {kind}" for kind, count in kinds.items())
    reasons = "; ".join(dict.fromkeys(pack.reason for pack in box.packs))
    mass, most, billed = (words.kilograms(kg) for kg in (box.mass_kg, box.max_kg, box.billed_kg))
    return (
        f"{words.box_name(box.id)}: {words.plain(box.type)}, {words.plural(len(box.bags), 'bag')}, "
        f"{mass} of at most {most}, billed {billed}" + (f"; {listed} ({reasons})" if listed else "; no packs")
    )


def _ways(plan: Plan) -> list[str]:
    return [_wrapped(line) for line in words.ways(plan)]


def _rules_off(plan: Plan) -> list[str]:
    return [_wrapped(f"{rule.words} [{rule.rule}]") for rule in plan.rules if not rule.on]


def _margins(plan: Plan) -> list[str]:
    bags = {bag.id: bag for bag in plan.bags}
    lines = []
    for forecast in by_margin(plan)[:THINNEST]:
        on_time = words.margin(forecast.margin_h, forecast.hold_h, plan.horizon_h)
        late = words.late_margin(forecast, plan.horizon_h)
        lines.append(
            _wrapped(
                f"{forecast.id} {_contents(plan, bags[forecast.id])}: {on_time}, "
                f"{late} when {words.number(plan.forecast.late_h, 0)} h late; breaks first: "
                f"{words.plain(forecast.first_limit)}; hangs on {words.plain(forecast.hangs_on)}"
            )
        )
    return lines


def _usual(plan: Plan) -> list[str]:
    """Return how the grower's own habit would do: how many bags hold, the thinnest, the water to carry."""
    usual = plan.usual
    if usual is None or not usual.bags:
        return []
    planned = by_margin(plan)[0]
    worst = min(usual.bags, key=lambda bag: bag.margin_h)
    of = f"of {len(usual.bags)} bags hold on time"
    named = [
        ("as planned", usual.planned_holding, planned.id, planned.margin_h, usual.planned_water_l),
        (usual.name, usual.holding, worst.id, worst.margin_h, usual.water_l),
    ]
    lines = [
        _wrapped(
            f"{name}: {holding} {of}, thinnest {id} {words.signed_hours(margin)}, "
            f"{words.litres(water)} of water"
        )
        for name, holding, id, margin, water in named
    ]
    breaks = "" if worst.margin_h >= 0 else f"; {worst.id} breaks first: {words.plain(worst.first_limit)}"
    return [*lines, _wrapped(f"usual: {usual.words}{breaks}")]


def _contents(plan: Plan, bag: Bag) -> str:
    if bag.goods:
        return f"({bag.goods})"
    strains = dict.fromkeys(one.strain for one in pieces_of(plan, bag))
    return f"({', '.join(strains)})"


def _tasks(plan: Plan) -> list[str]:
    coming = sorted(plan.tasks, key=lambda task: (task.starts, task.id))[:NEXT_TASKS]
    return [
        _wrapped(
            f"{words.zoned(task.starts, zone_of(plan, task.starts))}  {task.title}"
            + f", latest start {words.moment(task.latest_start, zone_of(plan, task.starts))}"
        )
        for task in coming
    ]


def _cautions(plan: Plan) -> list[str]:
    listed = cautions_in_order(plan)
    lines = [_wrapped(f"! {_brief(caution.text)}") for caution in listed[:MOST_CAUTIONS]]
    if len(listed) > MOST_CAUTIONS:
        lines.append(f"  and {len(listed) - MOST_CAUTIONS} more in the packet")
    return lines
