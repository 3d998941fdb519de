"""`ramet today`: what to do now, what is late, what is unhealthy."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.services.today import Line, Today, Unhealthy

_HEADS = {
    "late": "LATE",
    "now": "NOW",
    "soon": "IN THE NEXT DAYS",
    "news": "GOOD TO KNOW",
}


@click.command("today")
@click.option(
    "--plan",
    "plans",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="PLAN",
    help="A plan.json whose tasks belong to the day as well (may be given again).",
)
@common_options
def command(settings: Settings, plans: tuple[Path, ...]) -> None:
    """Tell what to do now, what is late, and what is unhealthy.

    From the ledger: healing that ends, inspections, treatments, measurements and water readings that are
    due, health holds and what ends them, and the tasks of shipments still to go.

    Example: ramet today --plan library/plan.json
    """
    from ramet.reference.tables import load_reference
    from ramet.services.today import read_today

    day = read_today(settings.ledger, load_reference(settings.own_rows), settings.today, plans)
    click.echo(_as_json(day) if settings.as_json else "\n".join(_as_text(day)))


def _as_json(day: "Today") -> str:
    from dataclasses import asdict

    return json.dumps({"format": "ramet-today/1", **asdict(day)}, ensure_ascii=False, indent=2, default=str)


def _as_text(day: "Today") -> Iterator[str]:
    yield f"{day.on}: {day.pieces} pieces in stock, {day.held} held, {day.promised} promised"
    for urgency, head in _HEADS.items():
        lines = [line for line in day.lines if line.urgency == urgency]
        if lines:
            yield f"\n{head}"
            yield from (_line(line) for line in lines)
    if day.unhealthy:
        yield "\nUNHEALTHY"
        for one in day.unhealthy:
            yield from _unhealthy(one)
    if not day.lines and not day.unhealthy:
        yield "Nothing to do, nothing late, nothing unhealthy."


def _line(line: "Line") -> str:
    about = f" [{line.shipment}]" if line.shipment else ""
    return f"  {line.on}  {line.text}{about}"


def _unhealthy(one: "Unhealthy") -> Iterator[str]:
    found = ", ".join(one.found_on) or "a piece that is gone, or the tank itself"
    yield f"  {one.words} in “{one.system}” since {one.since}: found on {found}"
    if one.contacts:
        shown = ", ".join(one.contacts[:8]) + (" …" if len(one.contacts) > 8 else "")
        yield f"      {len(one.contacts)} contacts wait with it: {shown}"
    yield f"      ends with: {one.ends}"
