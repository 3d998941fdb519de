"""`ramet contacts`: who may have met a pest, where it may have come from, and who was sent what."""

import json
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.services.health.contacts import Contacts

_MOST = 40


@click.command("contacts")
@click.argument("piece", required=False)
@click.option("--system", default=None, help="Trace from all of this system's water instead of a piece.")
@click.option("--pest", required=True, help="The pest, by its name in the reference table.")
@click.option(
    "--found",
    type=click.DateTime(["%Y-%m-%d"]),
    default=None,
    metavar="DATE",
    help="The day of the finding (default: the first on record there, else today).",
)
@common_options
def command(
    settings: Settings, piece: str | None, system: str | None, pest: str, found: datetime | None
) -> None:
    """Trace a pest from PIECE, or from a system: back to where it may have come from, forward to all it met.

    Shared water, moves, cuts, goods, and tools or tubs that were not disinfected are followed. Corals sent
    while they might have been exposed are listed with whom they went to.

    Example: ramet contacts HB-02 --pest acropora_flatworm
    """
    from ramet.reference.tables import load_reference
    from ramet.services.health.contacts import read_contacts

    answer = read_contacts(
        settings.ledger,
        load_reference(settings.own_rows),
        settings.today,
        pest,
        piece=piece,
        system=system,
        found_on=None if found is None else found.date(),
    )
    click.echo(_as_json(answer) if settings.as_json else "\n".join(_as_text(answer)))


def _as_json(answer: "Contacts") -> str:
    from dataclasses import asdict

    return json.dumps(
        {"format": "ramet-contacts/1", **asdict(answer)}, ensure_ascii=False, indent=2, default=str
    )


def _as_text(answer: "Contacts") -> Iterator[str]:
    yield f"{answer.words}, found on {answer.found_on} at {answer.start}; traced back to {answer.traced_from}"
    yield "\nIt may have come from:"
    for one in answer.origins or ():
        yield f"  {one.on}  {one.what} ({one.system}){'' if one.is_host else ', no host: on a mount or wet'}"
    if not answer.origins:
        yield "  nothing on record that came in during that time"
    yield "\nWaters it may have reached:"
    for water in answer.waters:
        yield f"  {water.since}  {water.system}: {water.way}{'' if water.likely else ' (possible only)'}"
    yield from _pieces(answer)
    if answer.goods:
        yield f"\nGoods in these waters: {', '.join(answer.goods)}"
    yield "\nSent while it might have been exposed:"
    for sent in answer.sent:
        whom = sent.to or "the ledger does not say to whom"
        with_ = f" with {sent.shipment}" if sent.shipment else ""
        yield f"  {sent.on}  {sent.piece} to {whom}{with_} ({_chance(sent.is_host, sent.likely)})"
    if not answer.sent:
        yield "  nothing"


def _pieces(answer: "Contacts") -> Iterator[str]:
    groups = (
        ("Hosts that likely met it", [one for one in answer.pieces if one.is_host and one.likely]),
        ("Hosts that possibly met it", [one for one in answer.pieces if one.is_host and not one.likely]),
        ("No hosts, but their mounts were there", [one for one in answer.pieces if not one.is_host]),
    )
    for head, some in groups:
        names = [one.piece + (" (gone)" if one.gone else "") for one in some]
        if names:
            more = f" and {len(names) - _MOST} more (--json lists them)" if len(names) > _MOST else ""
            yield f"\n{head}, {len(names)}:\n  {', '.join(names[:_MOST])}{more}"


def _chance(is_host: bool, likely: bool) -> str:
    if not is_host:
        return "no host; its mount was there"
    return "a host, likely exposed" if likely else "a host, possibly exposed"
