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
    from ramet.check.plan_check import RULES
    from ramet.reference.tables import load_reference
    from ramet.services.check_plan import check_plan_file

    findings = check_plan_file(plan, load_reference(settings.own_rows))
    if settings.as_json:
        answer = {"holds": not findings, "rules": len(RULES), "findings": [asdict(one) for one in findings]}
        click.echo(json.dumps(answer, indent=1, ensure_ascii=False))
    else:
        for finding in findings:
            click.echo(str(finding))
        broken = {finding.rule for finding in findings}
        if broken:
            click.echo(f"The plan does not hold: {len(broken)} of {len(RULES)} rules are broken.")
        else:
            click.echo(f"The plan holds: {len(RULES)} rules checked.")
    sys.exit(1 if findings else 0)
