"""The reference with some of its numbers pinned, so that a test can be worked by hand."""

from dataclasses import replace

from ramet.domain.band import exactly
from ramet.reference.tables import Reference


def pinned(reference: Reference, **values: float) -> Reference:
    """The reference with some parameters, or traits as `Genus__form__trait`, set to one value."""
    parameters, traits = dict(reference.parameters), dict(reference.traits)
    for name, value in values.items():
        if "__" in name:
            genus, form, trait = name.split("__")
            any_row = reference.trait(genus, reference.genera[genus].default_form, trait)
            traits[genus, form, trait] = replace(any_row, band=exactly(value), is_default=False)
        else:
            parameters[name] = replace(parameters[name], band=exactly(value))
    return replace(reference, parameters=parameters, traits=traits)
