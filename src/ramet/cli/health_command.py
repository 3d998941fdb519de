"""`ramet health`: what is held and why, in corals, water and goods, and where fish are."""

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.services.health.health_report import HealthReport, SystemHealth


@click.command("health")
@common_options
def command(settings: Settings) -> None:
    """Tell what is held and what ends it: corals, water with its mounts, and goods; and where fish are.

    Findings, dips, treatments and inspections are entered with `ramet record`, fish, goods and tools too.
    Ends with 1 when anything is held.

    Example: ramet health --json
    """
    from ramet.reference.tables import load_reference
    from ramet.services.health.health_report import read_health

    found = read_health(settings.ledger, load_reference(settings.own_rows), settings.today)
    click.echo(_as_json(found) if settings.as_json else "\n".join(_as_text(found)))
    if found.unhealthy or found.things:
        raise SystemExit(1)


def _as_json(found: "HealthReport") -> str:
    from dataclasses import asdict

    return json.dumps(
        {"format": "ramet-health/1", **asdict(found)}, ensure_ascii=False, indent=2, default=str
    )


def _as_text(found: "HealthReport") -> Iterator[str]:
    yield f"Health on {found.on}"
    if not found.unhealthy and not found.things:
        yield "Nothing is held."
    for sick in found.unhealthy:
        on = ", ".join(sick.found_on) or "a piece that is gone, or the tank itself"
        yield f"\n{sick.words} in “{sick.system}” since {sick.since}: found on {on}"
        if sick.contacts:
            yield f"    {len(sick.contacts)} contacts are held with it: {', '.join(sick.contacts)}"
        yield f"    ends with: {sick.ends}"
    for thing in found.things:
        what = f"goods “{thing.goods}”" if thing.goods else f"water, mounts and goods of “{thing.system}”"
        yield f"\n{what}: held for {thing.pest} since {thing.since}\n    ends with: {thing.ends}"
    yield "\nSystems:"
    for system in found.systems:
        yield f"  {system.system}: {system.pieces} corals; {_fish(system)}; {_looked(system)}"


def _fish(system: "SystemHealth") -> str:
    if system.fish is None:
        return "nobody has said whether fish are in it (ramet record fish)"
    return f"{'fish in it' if system.fish else 'no fish'} since {system.fish_since}"


def _looked(system: "SystemHealth") -> str:
    looked = system.last_inspected
    return "no inspection on record" if looked is None else f"last inspected on {looked}"
