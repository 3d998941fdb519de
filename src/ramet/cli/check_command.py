"""`ramet check`: verify a plan with code that shares nothing with the planner."""

import json
import sys
from dataclasses import asdict
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command()
@click.argument("plan", type=click.Path(path_type=Path), metavar="PLAN")
@common_options
def command(settings: Settings, plan: Path) -> None:
    """Check the plan in the file PLAN by rules of its own.

    Ends with 0 when the plan holds, 1 when a rule is broken, 2 when the file is not a plan.

    Example: ramet check demo-out/plan.json
    """
    from ramet.reference.tables import load_reference
    from ramet.services.check_plan import check_plan_file

    checked = check_plan_file(plan, load_reference(settings.own_rows))
    if settings.as_json:
        answer = {
            "holds": not checked.findings,
            "rules": checked.rules,
            "switched_off": [one.rule.value for one in checked.switched_off],
            "findings": [asdict(one) for one in checked.findings],
        }
        click.echo(json.dumps(answer, indent=1, ensure_ascii=False))
    else:
        for finding in checked.findings:
            click.echo(str(finding))
        broken = {finding.rule for finding in checked.findings}
        if broken:
            click.echo(f"The plan does not hold: {len(broken)} of {checked.rules} rules are broken.")
        else:
            click.echo(f"The plan holds: {checked.rules} rules checked.")
        for one in checked.switched_off:
            click.echo(f"Switched off by the shipment, so not asked for: {one.words} [{one.rule}]")
    sys.exit(1 if checked.findings else 0)
