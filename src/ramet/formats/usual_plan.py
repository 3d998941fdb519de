"""The same shipment packed the grower's usual way, beside the plan."""

from ramet.formats.fields import FileModel


class UsualBag(FileModel):
    """One bag packed as usual. Margins as in the plan; extremes are typical ones, until the bag is opened."""

    id: str
    water_l: float
    hold_p05_h: float
    hold_p50_h: float
    margin_h: float
    margin_late_h: float
    chance_ok: float
    first_limit: str
    coldest_c: float
    warmest_c: float
    least_oxygen_mg_l: float
    lowest_ph: float


class UsualPlan(FileModel):
    """A habit held against a plan: same boxes, corals, road and scenarios.

    `sha256` is that of the habit's file. Whether larger bags would still fit the boxes is not asked.
    """

    name: str
    words: str
    sha256: str
    scenarios: int
    water_l: float
    planned_water_l: float
    holding: int
    planned_holding: int
    bags: tuple[UsualBag, ...]
