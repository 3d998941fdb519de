"""The answer to a transit trial as text for a terminal."""

from collections.abc import Iterable, Sequence

from ramet.formats.transit_result import (
    BagSensitivity,
    TransitBag,
    TransitResult,
    UsualWay,
    WhatIfRow,
)

_MOST_MOVERS = 3
_MOST_TABLES = 4
"""With more bags than this a table of what-ifs shows the thinnest bag of each line alone."""


def as_text(result: TransitResult) -> str:
    """Return the whole answer."""
    last = result.hours[-1]
    lines = [f"{result.name or 'Transit trial'}: {last:g} h, every parameter at its typical value"]
    lines += [_weather_line(result), ""]
    for box in result.boxes:
        lines.append(
            f"{box.id}: air {box.air_c[0]:.1f} °C at the start, {min(box.air_c):.1f} to "
            f"{max(box.air_c):.1f}, {box.air_c[-1]:.1f} at the end"
        )
    moved = {one.bag: one for one in result.sensitivity}
    for place, bag in enumerate(result.bags):
        lines += ["", *_bag_lines(bag, last)]
        if result.percentiles is not None:
            lines.append("  " + _percentile_line(result, place))
        if bag.id in moved:
            lines += _mover_lines(moved[bag.id])
    if result.what_ifs:
        lines += ["", *what_if_lines(result.what_ifs)]
    if result.usual is not None:
        lines += ["", *_usual_lines(result, result.usual)]
    return "\n".join(lines)


def _weather_line(result: TransitResult) -> str:
    air, weather = result.ambient_c, result.weather
    source = f" [{weather.source}]" if weather.source else ""
    unsure = f", ± {weather.uncertain_c:g} in scenarios" if weather.uncertain_c else ""
    return f"outside {min(air):.1f} to {max(air):.1f} °C{unsure}: {weather.words}{source}"


def _bag_lines(bag: TransitBag, last: float) -> list[str]:
    hold = f"holds to the end (> {last:g} h)" if bag.holds_to_end else f"holds {bag.hold_h:.1f} h"
    because = "" if bag.first_limit is None else f"; first broken: {_limit_words(bag.first_limit)}"
    where = "" if bag.box is None else f" in {bag.box}"
    lines = [f"{bag.id}{where}: {hold}{because}"]
    lines += [
        f"  temperature {_range(bag.temperature_c)} °C, {bag.temperature_c[-1]:.1f} at the end",
        f"  oxygen      {_range(bag.oxygen_mg_l)} mg/L, {bag.oxygen_mg_l[-1]:.1f} at the end",
        f"  pH (total)  {_range(bag.ph_total, 2)}, {bag.ph_total[-1]:.2f} at the end",
        f"  un-ionised ammonia on opening {bag.opened.unionised_ammonia_umol_l[-1]:.2f} µmol/L",
    ]
    cautions = [one for one in bag.limits if not one.ends_hold and one.at_h is not None]
    lines += [f"  caution at {one.at_h:.1f} h: {_limit_words(one.code)}" for one in cautions]
    lines += [f"  caution: {text}" for text in bag.cautions]
    if bag.defaults_used:
        lines.append("  class defaults: " + "; ".join(bag.defaults_used))
    return lines


def _percentile_line(result: TransitResult, place: int) -> str:
    found = result.percentiles
    assert found is not None
    holds = [one.bags[place].hold_h for one in (found.p05, found.p50, found.p95)]
    last = result.hours[-1]
    words = [_hours(hold, hold >= last) for hold in holds]
    return (
        f"over {found.scenarios} scenarios it holds {words[0]} / {words[1]} / {words[2]} h "
        "(5th, 50th, 95th percentile)\n"
        f"  chance that all limits hold to the end {_share(found.chance_ok[place])}, "
        f"a day late {_share(found.chance_day_late[place])}"
    )


def _mover_lines(one: BagSensitivity) -> list[str]:
    if not one.moved_by:
        return [f"  nothing uncertain brings it below {one.looked_h:g} h by itself"]
    looked = one.looked_h
    lines = ["  the hold hangs on (alone at its 5th, then 95th percentile):"]
    for row in one.moved_by[:_MOST_MOVERS]:
        low, high = (_hours(hold, hold >= looked) for hold in (row.hold_low_h, row.hold_high_h))
        lines.append(f"    {row.words:<44} {low:>7} to {high:>7} h")
    return lines


def what_if_lines(rows: Sequence[WhatIfRow]) -> list[str]:
    """Return the table of what-ifs; with many bags, the thinnest of each change."""
    bags = list(dict.fromkeys(row.bag for row in rows))
    needed, looked = rows[0].needed_h, rows[0].looked_h
    lines = [
        f"What if (margin: 5th percentile of the hold minus the time needed, {needed:g} h as written; "
        f"looked as far as {looked:g} h)"
    ]
    if len(bags) <= _MOST_TABLES:
        for bag in bags:
            lines += _table(bag, [row for row in rows if row.bag == bag], with_bag=False)
    else:
        lines += _table("thinnest bag of each line", _thinnest(rows), with_bag=True)
    notes = {row.note: None for row in rows if row.note}
    return lines + [f"  * {note}" for note in notes]


def _table(title: str, rows: Iterable[WhatIfRow], *, with_bag: bool) -> list[str]:
    heads = f"{'p05':>7} {'p50':>7} {'change':>8} {'margin':>8} {'chance':>7}"
    lines = [f"  {title:<46} {heads}   shortest are ended by"]
    for row in rows:
        words = row.words + (" *" if row.note else "")
        p05, p50 = _hours(row.hold_p05_h, row.beyond), _hours(row.hold_p50_h, row.p50_beyond)
        change = "" if row.change == "as_written" else f"{row.delta_p05_h:+.1f}"
        first = "nothing" if row.first_limit is None else _limit_words(row.first_limit)
        shown = f"{first} ({row.bag})" if with_bag else first
        margin = f"{'>' if row.beyond else ''}{row.margin_h:+.1f}"
        lines.append(
            f"  {words:<46} {p05:>7} {p50:>7} {change:>8} {margin:>8} {_share(row.chance_ok):>7}   {shown}"
        )
    return lines


def _thinnest(rows: Sequence[WhatIfRow]) -> list[WhatIfRow]:
    codes = dict.fromkeys(row.change for row in rows)
    return [min((row for row in rows if row.change == code), key=lambda row: row.margin_h) for code in codes]


def _usual_lines(result: TransitResult, usual: UsualWay) -> list[str]:
    lines = [f"Beside {usual.words}"]
    name = usual.words.split(":", 1)[0]
    lines.append(f"  {'':<40} {'as written':>14} {name[:24]:>24}")
    for written, habit, bag, other in zip(
        usual.as_written, usual.usual, result.bags, usual.bags, strict=True
    ):
        lines.append(f"  {bag.id}")
        lines += [
            _pair("holds at p05", *(f"{_hours(one.hold_p05_h, one.beyond)} h" for one in (written, habit))),
            _pair("holds at p50", *(f"{_hours(o.hold_p50_h, o.p50_beyond)} h" for o in (written, habit))),
            _pair(f"margin over {written.needed_h:g} h", *(f"{o.margin_h:+.1f} h" for o in (written, habit))),
            _pair(
                "shortest are ended by", *(_limit_words(o.first_limit or "nothing") for o in (written, habit))
            ),
            _pair("coldest, warmest", *(f"{_range(one.temperature_c)} °C" for one in (bag, other))),
            _pair("least oxygen", *(f"{min(one.oxygen_mg_l):.1f} mg/L" for one in (bag, other))),
            _pair("lowest pH", *(f"{min(one.ph_total):.2f}" for one in (bag, other))),
        ]
    return lines


def _pair(what: str, one: str, other: str) -> str:
    return f"    {what:<38} {one:>14} {other:>24}"


def _hours(hold: float, beyond: bool) -> str:
    return f"> {hold:.4g}" if beyond else f"{hold:.1f}"


def _share(chance: float) -> str:
    return f"{100 * chance:.0f} %"


def _limit_words(code: str) -> str:
    return code.replace("_", " ")


def _range(values: tuple[float, ...], places: int = 1) -> str:
    return f"{min(values):.{places}f} to {max(values):.{places}f}"
