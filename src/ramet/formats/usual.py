"""A grower's usual way of packing, entered once and held against every trial and plan."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from ramet.domain.words import Gas
from ramet.formats.fields import FileModel, Misfit, Misfits

Count = Annotated[int, Field(ge=0, le=20)]


class Usual(FileModel):
    """What one always does. What is left out stays as the trial or the plan has it.

    `water_share` is the share of the filled bag that is water; `bag` a bag of the catalogue, filled to
    `fill_share` of what it holds closed; `heat_packs` how many go into every box, of the kind `heat_pack`.
    """

    name: str = "your usual way"
    water_share: Annotated[float | None, Field(gt=0, le=1)] = None
    gas: Gas | None = None
    bag: str | None = None
    fill_share: Annotated[float | None, Field(gt=0, le=1)] = None
    layers: Annotated[int | None, Field(ge=1, le=4)] = None
    heat_packs: Count | None = None
    heat_pack: str | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        habits = set(type(self).model_fields) - {"name", "heat_pack", "fill_share"}
        if all(getattr(self, habit) is None for habit in habits):
            raise ValueError("at least one of: water_share, gas, bag, layers, heat_packs")
        if self.fill_share is not None and self.bag is None:
            raise Misfits([Misfit(("fill_share",), f"{self.fill_share:g}", "a bag that it fills, as “bag”")])
        return self
