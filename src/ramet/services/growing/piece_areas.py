"""The three areas of a piece, from its size and the form factors of the reference."""

from ramet.domain.band import Band
from ramet.domain.words import Form
from ramet.reference.facts import Fact
from ramet.reference.tables import Reference
from ramet.science.areas import Areas, FormFactors, Size, areas_of_form

__all__ = ["Areas", "areas", "form_factors"]


def areas(
    reference: Reference,
    taxon: str,
    form: Form,
    length_mm: float,
    width_mm: float,
    height_mm: float,
    heads: int | None = None,
) -> Areas:
    """Return tissue, contour and footprint of a piece [cm²], each with its band."""
    size = Size(length_mm, width_mm, height_mm, heads)
    return areas_of_form(form, size, form_factors(reference, taxon, form))


def form_factors(reference: Reference, taxon: str, form: Form) -> FormFactors:
    """Return the factors of a form, or of the genus in that form where it has rows of its own."""
    head = _row(reference, "head_area_cm2", form, taxon)
    return FormFactors(
        tissue_per_hull=_band(reference, "tissue_per_hull", form, taxon),
        contour_per_hull=_band(reference, "contour_per_hull", form, taxon),
        footprint_per_ellipse=_band(reference, "footprint_per_ellipse", form, taxon),
        head_area_cm2=None if head is None else head.band,
    )


def _band(reference: Reference, quantity: str, form: Form, taxon: str) -> Band:
    found = _row(reference, quantity, form, taxon)
    return reference.parameter(f"{quantity}_{form.value}").band if found is None else found.band


def _row(reference: Reference, quantity: str, form: Form, taxon: str) -> Fact | None:
    genus = taxon.split()[0].lower() if taxon.split() else ""
    by_genus = reference.parameters.get(f"{quantity}_{form.value}_{genus}")
    return by_genus or reference.parameters.get(f"{quantity}_{form.value}")
