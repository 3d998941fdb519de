"""When a cut edge is closed: the dates that decide what may still be cut, and what may travel.

Whole calendar days: a piece cut at any hour of a day counts as cut on that day, and may be packed at any
hour of the day on which its edge counts as sealed.
"""

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ramet.domain.words import Form
    from ramet.reference.tables import Reference


def edge_sealed_on(reference: "Reference", taxon: str, form: "Form", cut_on: date) -> date:
    """Return the first day on which a piece cut on `cut_on` may be planned to travel.

    The planning value is the typical number of days until live tissue closes over the cut edge
    (trait `healing_d` of the genus and form); part days count as whole ones.
    """
    return cut_on + _days(reference.trait(taxon, form, "healing_d").band.typical)


def latest_cut_on(reference: "Reference", taxon: str, form: "Form", packed_on: date) -> date:
    """Return the last day on which a cut still seals in time to be packed on `packed_on`."""
    return packed_on - _days(reference.trait(taxon, form, "healing_d").band.typical)


def floor_on(reference: "Reference", taxon: str, form: "Form", cut_on: date) -> date:
    """Return the day before which a piece cut on `cut_on` never travels, however hurried the sender.

    The low end of the trait `healing_d`: no piece goes into a bag within two days of its cut
    (common practice, no source).
    """
    return cut_on + _days(reference.trait(taxon, form, "healing_d").band.low)


def _days(days: float) -> timedelta:
    return timedelta(days=math.ceil(days))
