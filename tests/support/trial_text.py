"""A small trial as text, and a folder to read it from."""

from pathlib import Path

from ramet.reference.tables import Reference
from ramet.services.trials.trial import Trial, read_trial

WARM = """
[ambient]
hours = [0, 24]
temperature_c = [24, 24]
[[box]]
inner_mm = [300, 300, 300]
wall_mm = 25
wall_k_w_mk = 0.036
[[box.bag]]
id = "A"
water_l = 0.4
gas_l = 0.2
[[box.bag.animal]]
taxon = "Acropora tenuis"
tissue_area_cm2 = 60
"""
"""A bag with too little gas at an even temperature: oxygen ends its hold."""

COLD = WARM.replace("[24, 24]", "[6, 6]").replace("gas_l = 0.2", "gas_l = 0.6")
"""A bag with plenty of gas in the cold: the cold ends its hold."""


def read(folder: Path, text: str, reference: Reference) -> Trial:
    """Write a trial into a folder and read it."""
    path = folder / "trial.toml"
    path.write_text(text, encoding="utf-8")
    return read_trial(reference, path)
