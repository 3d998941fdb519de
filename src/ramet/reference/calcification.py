"""Calcification per contour area from extension and density: how rows of `traits.csv` were derived.

`python -m ramet.reference.calcification` prints the rows that follow from `calcification_basis.csv`;
a test holds `traits.csv` to them.
"""

import csv
import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from ramet.domain.band import Band
from ramet.domain.words import Form

BASIS = Path(__file__).parent.parent / "data" / "calcification_basis.csv"
CONTOUR_CM = 10.0
CACO3_G_MOL = 100.087
EQUIVALENTS_PER_MOL = 2.0
DAYS_PER_YEAR = 365.0
THIN_SUPPORT = Band(0.5, 1.0, 2.0)


@dataclass(frozen=True, slots=True)
class Basis:
    """What is published for a genus in a form. `support` is several, single (one study) or proxy."""

    genus: str
    form: Form
    morphology: str
    extension_cm_yr: float
    extension_ci_cm_yr: float
    density_g_cm3: float
    density_ci_g_cm3: float
    branch_share: float
    support: str
    source: str


def mounding_production_g_cm2_yr(extension_cm_yr: float, density_g_cm3: float, contour_cm: float) -> float:
    """Carbonate production of a mounding colony per cm² of surface contour and year.

    Parameters
    ----------
    extension_cm_yr : linear extension [cm/yr], 0 to 15
    density_g_cm3 : skeletal density [g/cm³], 0.5 to 3
    contour_cm : length of the colony along its surface [cm], above 0

    Returns
    -------
    production [g CaCO3 cm⁻² yr⁻¹]

    Notes
    -----
    A half circle of radius R = x/π grows by g all round: d ((R + g)² − R²) π/2 per cm of width.

    References
    ----------
    ReefBudget methodology (Perry et al. 2018), as used by Barkley 2023, doi 10.25923/g4hg-7686.
    """
    radius = contour_cm / math.pi
    return density_g_cm3 * ((radius + extension_cm_yr) ** 2 - radius**2) * math.pi / 2 / contour_cm


def plating_production_g_cm2_yr(extension_cm_yr: float, density_g_cm3: float, contour_cm: float) -> float:
    """Carbonate production of a plating, encrusting or table colony per cm² of contour and year.

    Parameters and result as in `mounding_production_g_cm2_yr`.

    Notes
    -----
    Both margins grow by g, the upper face thickens by a tenth of it: 2 g d + 0.1 g (x + 2 g) d.
    The margins weigh more the smaller the colony.

    References
    ----------
    ReefBudget methodology (Perry et al. 2018), as used by Barkley 2023, doi 10.25923/g4hg-7686.
    """
    margins = 2 * extension_cm_yr * density_g_cm3
    face = 0.1 * extension_cm_yr * (contour_cm + 2 * extension_cm_yr) * density_g_cm3
    return (margins + face) / contour_cm


def branching_production_g_cm2_yr(extension_cm_yr: float, density_g_cm3: float, branch_share: float) -> float:
    """Carbonate production of a branching or columnar colony per cm² of contour and year.

    Parameters
    ----------
    extension_cm_yr : extension of the axial tips [cm/yr], 0 to 15
    density_g_cm3 : skeletal density [g/cm³], 0.5 to 3
    branch_share : share of the contour that consists of growing axial tips [1], 0 to 1

    Returns
    -------
    production [g CaCO3 cm⁻² yr⁻¹]

    Notes
    -----
    Tips grow by g, the rest by a tenth of it: (0.1 (1 − c) + c) g d.

    References
    ----------
    ReefBudget methodology (Perry et al. 2018), as used by Barkley 2023, doi 10.25923/g4hg-7686.
    """
    return extension_cm_yr * density_g_cm3 * (0.1 * (1 - branch_share) + branch_share)


def alkalinity_use_meq_cm2_d(production_g_cm2_yr: float) -> float:
    """Return the alkalinity that a carbonate production takes up [meq cm⁻² d⁻¹]: 2 eq per mol CaCO3."""
    return production_g_cm2_yr / DAYS_PER_YEAR / CACO3_G_MOL * EQUIVALENTS_PER_MOL * 1000


def read_basis(path: Path = BASIS) -> tuple[Basis, ...]:
    """Read the published extension and density rows."""
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(_basis(row) for row in csv.DictReader(file))


def calcification_band(basis: Basis) -> Band:
    """Return the calcification of a row [meq cm⁻² d⁻¹].

    The band spans the confidence intervals of extension and density taken together; where one study or
    a proxy is all there is, it spans half to twice the value.
    """
    typical = _calcification(basis, 0)
    if basis.support != "several":
        return THIN_SUPPORT.scaled(typical)
    return Band(_calcification(basis, -1), typical, _calcification(basis, 1))


def extension_band(basis: Basis) -> Band:
    """Return the extension of a row [cm/yr], with its confidence interval or half to twice the value."""
    typical, spread = basis.extension_cm_yr, basis.extension_ci_cm_yr
    if basis.support != "several":
        return THIN_SUPPORT.scaled(typical)
    return Band(typical - spread, typical, typical + spread)


def derived_rows(basis: tuple[Basis, ...]) -> dict[tuple[str, Form, str], Band]:
    """Return the trait bands by genus, form and trait. Rows of one genus and form are pooled."""
    pooled: dict[tuple[str, Form, str], list[Band]] = {}
    for row in basis:
        pooled.setdefault((row.genus, row.form, "calcification_meq_cm2_d"), []).append(
            calcification_band(row)
        )
        pooled.setdefault((row.genus, row.form, "extension_cm_yr"), []).append(extension_band(row))
    return {key: _pool(bands) for key, bands in pooled.items()}


def _pool(bands: list[Band]) -> Band:
    mean = sum(band.typical for band in bands) / len(bands)
    return Band(min(band.low for band in bands), mean, max(band.high for band in bands))


def _calcification(basis: Basis, side: int) -> float:
    extension = basis.extension_cm_yr + side * basis.extension_ci_cm_yr
    density = basis.density_g_cm3 + side * basis.density_ci_g_cm3
    if basis.morphology in ("mounding", "free-living"):
        production = mounding_production_g_cm2_yr(extension, density, CONTOUR_CM)
    elif basis.morphology.startswith("branching") or basis.morphology == "columnar":
        production = branching_production_g_cm2_yr(extension, density, basis.branch_share)
    else:
        production = plating_production_g_cm2_yr(extension, density, CONTOUR_CM)
    return alkalinity_use_meq_cm2_d(production)


def _basis(row: Mapping[str, str]) -> Basis:
    return Basis(
        genus=row["genus"],
        form=Form(row["form"]),
        morphology=row["morphology"],
        extension_cm_yr=float(row["extension_cm_yr"]),
        extension_ci_cm_yr=float(row["extension_ci_cm_yr"]),
        density_g_cm3=float(row["density_g_cm3"]),
        density_ci_g_cm3=float(row["density_ci_g_cm3"]),
        branch_share=float(row["branch_share"] or 0),
        support=row["support"],
        source=row["source"],
    )


def _print_rows() -> None:
    write = csv.writer(sys.stdout)
    for (genus, form, trait), band in derived_rows(read_basis()).items():
        values = [f"{value:.3g}" for value in (band.low, band.typical, band.high)]
        write.writerow([genus, form.value, trait, *values])


if __name__ == "__main__":
    _print_rows()
