"""The answer of `ramet tank` in words."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ramet.formats.tank_report import BandValue, TankReport
    from ramet.services.tank_list import TankAnswer

_MOST_ROOMY, _MOST_LISTED = 5, 8


def tank_text(answer: "TankAnswer") -> str:
    """Return the whole answer, the verdict first."""
    report = answer.report
    verdict = "can take" if answer.takes_the_list else "can't take"
    lines = [f"The tank ({report.volume_l:.0f} L) {verdict} these {len(answer.pieces)} corals on day one."]
    lines += _first(answer.why_not, "  - {}")
    for heading, body in (
        ("Use by corals and tank, expected (low to high):", _use(report)),
        ("Supply per day:" if report.supply else "Supply: none given", _supply(report)),
        ("Corrections, besides the daily doses:", _corrections(report)),
        ("Biofilter:", _biofilter(report)),
        ("Light (µmol/m²/s):", _light(report)),
        ("Places, in the order of gluing (mm from the front left corner):", _places(report)),
        ("In stages:", _stages(report)),
        ("Tests of the first fortnight:", _tests(report)),
        ("Cautions:", (f"  - {one.text} [{one.source}]" for one in answer.cautions)),
    ):
        told = list(body)
        if told or heading.endswith("given"):
            lines += ["", heading, *told]
    if answer.defaults_used:
        lines += ["", f"{len(answer.defaults_used)} values filled in by default (--json lists them)"]
    return "\n".join(lines)


def _first(items: "Sequence[str]", form: str) -> list[str]:
    told = [form.format(item) for item in items[:_MOST_LISTED]]
    rest = len(items) - _MOST_LISTED
    return told if rest <= 0 else [*told, form.format(f"and {rest} more (--json lists them)")]


def _use(report: "TankReport") -> "Iterator[str]":
    for one in report.demand:
        used = "; ".join(
            f"{name} {_band(value)}"
            for name, value in (("alkalinity", one.alkalinity), ("Ca", one.calcium), ("Mg", one.magnesium))
        )
        yield f"  day {one.day:>3}: {used}"


def _supply(report: "TankReport") -> "Iterator[str]":
    for means in report.supply:
        lasts = (
            "lasts a year" if means.outgrown_on_day is None else f"outgrown on day {means.outgrown_on_day}"
        )
        yield (
            f"  {means.means}: at most {means.alkalinity_dkh_d:.2f} dKH, {means.calcium_mg_l_d:.1f} mg/L Ca, "
            f"{means.magnesium_mg_l_d:.2f} mg/L Mg; all means together: {lasts} ({means.note})"
        )
        if means.doses:
            doses = ", ".join(f"{dose.ml_d:g} mL from day {dose.day}" for dose in means.doses)
            yield f"    dose a day, in {means.doses_a_day} parts: {doses}"


def _corrections(report: "TankReport") -> "Iterator[str]":
    for one in report.corrections:
        amount = (
            f", {one.amount_d:g} {one.amount_unit} a day of {one.with_means}"
            if one.amount_d is not None
            else ""
        )
        note = f"; {one.note}" if one.note else ""
        yield f"  {one.what} {one.now:g} to {one.target:g} {one.unit} in {one.days} d{amount}{note}"


def _biofilter(report: "TankReport") -> "Iterator[str]":
    one = report.biofilter
    yield f"  {_band(one.ammonia_in)} comes in, {_band(one.capacity)} can be taken; {one.note}"
    if one.readiness is not None:
        yield f"  Test it before the boxes leave, starting {one.readiness.needs_d} d before:"
        yield from (f"    {number}. {step}" for number, step in enumerate(one.readiness.steps, start=1))


def _light(report: "TankReport") -> "Iterator[str]":
    """The lamp's steps, then each verdict once, with the pieces it is for."""
    if report.lamp is not None and report.light:
        steps = ", ".join(f"day {step.day} {step.power:.0%}" for step in report.lamp.steps)
        yield f"  lamp power: {steps}; {report.lamp.photoperiod_h:g} h a day"
        yield f"  {report.lamp.note}"
    by_verdict: dict[str, list[str]] = {}
    for one in report.light:
        by_verdict.setdefault(one.verdict, []).append(one.piece)
    for verdict, pieces in by_verdict.items():
        yield f"  {pieces[0]}{_more(pieces)}: {verdict}"


def _places(report: "TankReport") -> "Iterator[str]":
    for one in report.placement:
        if one.at_mm is None:
            continue
        where = f"{one.spot or one.zone} at {one.at_mm[0]} / {one.at_mm[1]}, {one.height_mm} high"
        yield f"  {one.order:>3}. {one.piece}: {where}; gap {one.gap_mm} mm; {one.note}"
    free = report.free_spots
    if free:
        named = ", ".join(
            f"{one.spot or one.zone} {one.at_mm[0]} / {one.at_mm[1]} ({one.room_mm} mm)"
            for one in free[:_MOST_ROOMY]
        )
        yield f"  {len(free)} spots stay free; the roomiest: {named}"


def _stages(report: "TankReport") -> "Iterator[str]":
    if len(report.staging) < 2:
        return
    for one in report.staging:
        when = "never" if one.week is None else f"week {one.week}"
        named = ", ".join(_first(one.pieces, "{}")) or "none"
        yield f"  {when}: {len(one.pieces)} pieces ({named}): {one.reason}"


def _tests(report: "TankReport") -> "Iterator[str]":
    for one in report.testing:
        why = f" ({one.why})" if one.why else ""
        yield f"  day {one.day:>2}: {', '.join(one.tests)}{why}"


def _more(pieces: list[str]) -> str:
    return "" if len(pieces) == 1 else f" and {len(pieces) - 1} more"


def _band(value: "BandValue") -> str:
    return f"{value.typical:.3g} ({value.low:.2g} to {value.high:.2g}) {value.unit}"
