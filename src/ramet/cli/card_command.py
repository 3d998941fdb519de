"""`ramet card`: print the scale cards that photos are measured by."""

from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("card")
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("card.pdf"),
    show_default=True,
)
@click.option("--paper", type=click.Choice(["a4", "us-letter"]), default="a4", show_default=True)
@common_options
def command(settings: Settings, out: Path, paper: str) -> None:
    """Write a page with two scale cards: four markers round a window, for areas from photos.

    Example: ramet card -o card.pdf --paper us-letter
    """
    import json
    from typing import cast

    from ramet.services.photos.scale_cards import Paper, write_scale_cards

    write_scale_cards(out, cast("Paper", paper))
    if settings.as_json:
        click.echo(json.dumps({"format": "ramet-card/1", "file": str(out), "paper": paper}))
    else:
        click.echo(f"{out}: print at 100 % and check the ruler; then `ramet area PHOTO`")
