"""`ramet transit`: forecast a packed box or a single bag."""

from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("transit")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--scenarios",
    type=click.IntRange(0, 65536),
    default=0,
    show_default=True,
    help="Add percentiles over this many draws of what is uncertain.",
)
@click.option("--what-if", is_flag=True, help="Add a table of what other choices would change.")
@click.option(
    "--usual",
    type=click.Path(path_type=Path),
    envvar="RAMET_USUAL",
    default=None,
    metavar="TOML",
    help="Show the usual way of packing in this file beside the trial (environment: RAMET_USUAL).",
)
@click.option(
    "--plot",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    metavar="SVG",
    help="Draw the journey of each bag into this file.",
)
@click.option(
    "--online",
    is_flag=True,
    help="Allow asking the open weather API when the trial gives latitude and longitude.",
)
@click.option(
    "--weather-url",
    envvar="RAMET_WEATHER_URL",
    default=None,
    metavar="URL",
    help="Ask at this address instead (environment: RAMET_WEATHER_URL).",
)
@common_options
def command(
    settings: Settings,
    file: Path,
    scenarios: int,
    what_if: bool,
    usual: Path | None,
    plot: Path | None,
    online: bool,
    weather_url: str | None,
) -> None:
    """Forecast a packed box or a single bag from a trial FILE (TOML), without a ledger.

    Exits with 1 when a bag breaks a limit before the last hour of the record.

    \b
    Example: ramet transit box.toml --scenarios 512 --what-if --plot box.svg
    """
    from ramet.cli.transit_text import as_text
    from ramet.reference.tables import load_reference
    from ramet.services.transit import TransitOrder, run_transit
    from ramet.services.trials.transit_plot import write_plot
    from ramet.services.weather.sources import NetworkAccess

    order = TransitOrder(
        scenarios=scenarios,
        seed=settings.seed,
        what_if=what_if,
        usual=usual,
        access=NetworkAccess(online, weather_url),
    )
    result = run_transit(load_reference(settings.own_rows), file, order)
    click.echo(result.model_dump_json() if settings.as_json else as_text(result))
    if plot is not None:
        write_plot(result, plot)
        click.echo(f"wrote {plot}", err=True)
    if not all(bag.holds_to_end for bag in result.bags):
        raise SystemExit(1)
