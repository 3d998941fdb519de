"""`ramet tree`: the family of a strain."""

import json
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("tree")
@click.argument("name", metavar="STRAIN|PIECE")
@click.option(
    "-o", "--out", type=click.Path(path_type=Path), default=None, help="Draw it into this SVG file."
)
@common_options
def command(settings: Settings, name: str, out: Path | None) -> None:
    """Show who was cut from whom in a strain, with the papers they inherit; -o draws it.

    Example: ramet tree Ember -o ember.svg
    """
    from dataclasses import asdict

    from ramet.ledger.store import open_ledger
    from ramet.services.history.lineage import family, origin_lines, text_tree

    with open_ledger(settings.ledger) as ledger:
        found = family(ledger, name)
    if settings.as_json:
        click.echo(json.dumps(asdict(found), ensure_ascii=False, indent=2, default=str))
    else:
        click.echo("\n".join(text_tree(found)))
    if out is not None:
        from ramet.papers.family_tree import family_tree_svg

        out.write_text(family_tree_svg(found, origin_lines(found)), encoding="utf-8")
        click.echo(f"drawn into {out}", err=True)
