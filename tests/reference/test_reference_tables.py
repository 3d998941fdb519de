"""The shipped tables: complete and findable."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.words import BagClass, Form, Tolerance
from ramet.reference.ranges import TRAITS
from ramet.reference.tables import Reference, load_reference

NEEDED_GENERA = (
    "Acropora Seriatopora Montipora Pocillopora Stylophora Favites Pavona Turbinaria "
    "Euphyllia Fimbriaphyllia Caulastraea Duncanopsammia Hydnophora Galaxea Porites Tubipora "
    "Sinularia Sarcophyton Lobophytum Cladiella Zoanthus Palythoa Xenia Briareum "
    "Clavularia Goniopora Alveopora Platygyra Goniastrea Cyphastrea Leptastrea Echinophyllia "
    "Leptoseris Merulina Psammocora Lobophyllia Trachyphyllia Micromussa Dipsastraea Plerogyra "
    "Blastomussa Fungia Heliopora Millepora Discosoma Rhodactis "
)
NAMES = NEEDED_GENERA.split()

any_form = st.sampled_from(list(Form))
any_trait = st.sampled_from(sorted(TRAITS))


def test_the_needed_genera_are_there(reference: Reference) -> None:
    assert set(NAMES) <= set(reference.genera)


@given(st.sampled_from([*NAMES, "unknown", "Never heard", ""]), any_form, any_trait)
def test_every_taxon_has_every_trait_in_every_form(taxon: str, form: Form, name: str) -> None:
    fact = load_once().trait(taxon, form, name)
    rule = TRAITS[name]
    assert rule.low <= fact.band.low <= fact.band.typical <= fact.band.high <= rule.high
    assert fact.unit == rule.unit
    assert fact.source in load_once().sources
    assert fact.is_default == fact.subject.startswith("class:")


def test_a_row_by_form_goes_before_one_of_the_genus(reference: Reference) -> None:
    of_table = reference.trait("Acropora hyacinthus", Form.TABLE, "respiration_umol_cm2_h")
    of_branch = reference.trait("Acropora millepora", Form.BRANCHING, "respiration_umol_cm2_h")
    assert (of_table.subject, of_table.is_default) == ("Acropora", False)
    assert (of_branch.subject, of_branch.is_default) == ("class:acropora", True)


def test_a_taxon_outside_the_tables_takes_the_unknown_class(reference: Reference) -> None:
    assert reference.genus("Nonesuch sp.") is None
    assert reference.trait("Nonesuch sp.", Form.MASSIVE, "q10").subject == "class:unknown"


def test_near_names_are_suggested(reference: Reference) -> None:
    assert reference.nearest("Acropra millepora")[0] == "Acropora"
    assert reference.nearest("euphilia")[0] == "Euphyllia"
    assert reference.nearest("") == ()


def test_an_unheard_trait_or_parameter_is_a_wrong_call(reference: Reference) -> None:
    with pytest.raises(KeyError, match="no trait named vigour"):
        reference.trait("Acropora", Form.TABLE, "vigour")
    with pytest.raises(KeyError, match="no parameter named luck"):
        reference.parameter("luck")


def test_each_tolerance_has_limits_that_end_a_hold(reference: Reference) -> None:
    for tolerance in Tolerance:
        assert any(limit.ends_hold for limit in reference.limits(tolerance))


def test_the_same_tables_give_the_same_hash(reference: Reference) -> None:
    assert load_reference().sha256 == reference.sha256


def test_zoanthids_and_stingers_never_travel_as_stony(reference: Reference) -> None:
    # Common practice, no source: palytoxin carriers and strong stingers have bags of their own.
    for name in ("Zoanthus", "Palythoa"):
        assert reference.genera[name].bag_class is BagClass.ZOANTHID
    for name in ("Galaxea", "Hydnophora", "Euphyllia", "Fimbriaphyllia", "Millepora", "Catalaphyllia"):
        assert reference.genera[name].bag_class is BagClass.STINGING


_LOADED: list[Reference] = []


def load_once() -> Reference:
    """Load for the drawn examples, which a fixture would hand the same value anyway."""
    if not _LOADED:
        _LOADED.append(load_reference())
    return _LOADED[0]
