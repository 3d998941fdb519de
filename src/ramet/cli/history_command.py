"""`ramet history`: what happened to a piece, or the latest entries of all."""

import json

import click

from ramet.cli.options import Settings, common_options


@click.command("history")
@click.argument("piece", required=False)
@click.option(
    "--rows", type=click.IntRange(1, 1000), default=20, show_default=True, help="Latest entries shown."
)
@common_options
def command(settings: Settings, piece: str | None, rows: int) -> None:
    """Show the entries of a piece with their numbers, and its light of the last 30 days.

    Without a piece, the latest entries of all. `ramet record undo --entry NUMBER` takes the action of an
    entry back.

    Example: ramet history E1
    """
    from dataclasses import asdict

    from ramet.ledger.store import open_ledger
    from ramet.services.history.entries import entries_of, latest_entries
    from ramet.services.history.light_history import light_histories

    with open_ledger(settings.ledger) as ledger:
        lines = latest_entries(ledger, rows) if piece is None else entries_of(ledger, piece)
        light = () if piece is None else light_histories(ledger, [piece], settings.today)
    if settings.as_json:
        values = {"entries": [asdict(line) for line in lines], "light": [asdict(one) for one in light]}
        click.echo(json.dumps(values, ensure_ascii=False, indent=2, default=str))
        return
    for line in lines:
        mark = " (undone)" if line.undone else ""
        about = f" {line.about}:" if piece is None else ""
        click.echo(f"{line.number:>6}  {line.on}  {line.kind}{about} {line.said}{mark}".rstrip())
    for one in light:
        if one.mean_mol_m2 is None:
            click.echo("light: not on record (enter the light and hours of its spot or tank)")
        else:
            click.echo(f"light: {one.mean_mol_m2:.1f} mol/m²/d, mean of {one.known_days} of the last 30 days")
