"""Writes the picture of a transit trial."""

from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.transit_result import TransitResult
from ramet.papers.trial_chart import trial_chart


def write_plot(result: TransitResult, path: Path) -> None:
    """Draw a trial into an SVG file. Raises BadInput where the file cannot be written."""
    svg = trial_chart(result)
    try:
        path.write_text(svg, encoding="utf-8")
    except OSError as error:
        raise BadInput(
            [Problem(Place(str(path)), error.strerror or str(error), "a file to write to")]
        ) from error
