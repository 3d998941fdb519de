"""One reader per table: from a checked row to the value it means."""

import re
from collections.abc import Callable, Mapping
from typing import TypeVar

from ramet.domain.words import BagClass, Form, Grade, Tolerance
from ramet.reference.facts import (
    BagType,
    BoxType,
    CautionRow,
    Dip,
    Fact,
    FoamType,
    Genus,
    LimitRow,
    ListedSpecies,
    LivesOn,
    PackType,
    Pest,
    SizeMm,
    Source,
)
from ramet.reference.ranges import TRAITS, same_unit
from ramet.reference.rows import Row

Value = TypeVar("Value")
Reader = Callable[[Row], Value]

STATUSES = ("threatened", "endangered")
SEEN = ("full", "abstract", "memory", "derived")
APPENDICES = ("I", "II", "III")
QUANTITIES = ("oxygen_mg_l", "temperature_c", "opened_ammonia_umol_l")
SIZE_COLUMNS = ("length_mm", "width_mm", "height_mm")
PARAMETER_HEADER = "parameter,unit,low,typical,high,source,grade,note"
HEADERS: Mapping[str, str] = {
    "SOURCES.csv": "key,citation,link,seen",
    "genera.csv": "genus,family,trait_class,bag_class,default_form,tolerance,cites,toxin,symbiotic,"
    "source,grade",
    "traits.csv": "subject,form,trait,unit,low,typical,high,source,grade",
    "limits.csv": "tolerance,code,words,quantity,below,level,hours,ends_hold,source,grade",
    "bags.csv": "id,words,flat_width_mm,length_mm,closed_l,film_um,layers,rigid,may_lie,carries_kg,"
    "stack_most,tare_kg,source,grade,compartments",
    "boxes.csv": "id,words,length_mm,width_mm,height_mm,wall_mm,foam,carton_mm,tare_kg,max_kg,source,grade",
    "foams.csv": "id,words,k_low_w_mk,k_typical_w_mk,k_high_w_mk,k_slope_per_c,source,grade",
    "packs.csv": "id,words,warms,length_mm,width_mm,height_mm,mass_kg,watts_low,watts_typical,watts_high,"
    "warm_up_h,lasts_h,melts_c,latent_j_kg,cp_j_kgk,air_gap_mm,source,grade",
    "dips.csv": "id,words,trait_classes,minutes,never,source,grade",
    "pests.csv": "id,words,lives_on,host_genera,generation_d,treat_again_d,clean_inspections,source,grade",
    "cautions.csv": "code,applies,text,source",
    "listed.csv": "taxon,status,source",
}
_NAME = re.compile(r"[a-z][a-z0-9_]*")


def source_row(row: Row) -> Source:
    """A source: its key, citation, link and how much of it was read."""
    return Source(
        key=_name(row, "key"),
        citation=row.text("citation"),
        link=row.optional("link"),
        seen=row.one_of("seen", SEEN),
    )


def genus_row(row: Row) -> Genus:
    """What holds for a whole genus."""
    name = row.text("genus")
    if not re.fullmatch(r"[A-Z][a-z]+", name):
        row.refuse("genus", "one capitalised word")
    toxin = row.optional("toxin")
    appendix = row.one_of("cites", APPENDICES) if row.optional("cites") else None
    return Genus(
        name=name,
        family=row.text("family"),
        trait_class=_name(row, "trait_class"),
        bag_class=row.word("bag_class", BagClass),
        default_form=row.word("default_form", Form),
        tolerance=row.word("tolerance", Tolerance),
        cites=appendix,
        toxin=_name(row, "toxin") if toxin else None,
        symbiotic=row.flag("symbiotic"),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def trait_row(row: Row) -> tuple[str, Fact]:
    """A trait and the form it holds for ("" for any)."""
    name, form = row.one_of("trait", tuple(TRAITS)), row.optional("form")
    if form:
        row.word("form", Form)
    rule = TRAITS.get(name)
    if rule is not None and not same_unit(row.text("unit"), rule.unit):
        row.refuse("unit", f"the unit of {name}: {rule.unit}")
    low, high = (rule.low, rule.high) if rule is not None else (-1e9, 1e9)
    fact = Fact(
        subject=row.text("subject"),
        name=name,
        unit=rule.unit if rule is not None else "",
        band=row.band(low, high),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )
    return form, fact


def parameter_row(row: Row) -> Fact:
    """A parameter of a model. A share or chance lies between 0 and 1."""
    name = _name(row, "parameter")
    is_share = name.endswith(("_share", "_chance"))
    return Fact(
        subject="parameter",
        name=name,
        unit=row.text("unit"),
        band=row.band(0, 1) if is_share else row.band(-1e12, 1e12),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def limit_row(row: Row) -> LimitRow:
    """A dose that ends a hold or calls for a caution."""
    return LimitRow(
        tolerance=row.word("tolerance", Tolerance),
        code=_name(row, "code"),
        words=row.text("words"),
        quantity=row.one_of("quantity", QUANTITIES),
        below=row.flag("below"),
        level=row.number("level", 0, 1000),
        hours=row.number("hours", 0, 240),
        ends_hold=row.flag("ends_hold"),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def bag_row(row: Row) -> BagType:
    """A bag or cup as bought."""
    return BagType(
        id=_name(row, "id"),
        words=row.text("words"),
        flat_width_mm=row.number("flat_width_mm", 30, 1000),
        length_mm=row.number("length_mm", 30, 1500),
        closed_l=row.number("closed_l", 0.02, 60),
        film_um=row.number("film_um", 20, 3000),
        layers=row.whole("layers", 1, 4),
        rigid=row.flag("rigid"),
        may_lie=row.flag("may_lie"),
        carries_kg=row.number("carries_kg", 0, 30),
        stack_most=row.whole("stack_most", 1, 6),
        tare_kg=row.number("tare_kg", 0.0005, 2),
        source=row.text("source"),
        grade=row.word("grade", Grade),
        compartments=row.whole("compartments", 1, 6),
    )


def box_row(row: Row) -> BoxType:
    """An insulated box as bought."""
    return BoxType(
        id=_name(row, "id"),
        words=row.text("words"),
        inner_mm=_size(row, 80, 1200),
        wall_mm=row.number("wall_mm", 5, 120),
        foam=row.text("foam"),
        carton_mm=row.number("carton_mm", 0, 20),
        tare_kg=row.number("tare_kg", 0.05, 15),
        max_kg=row.number("max_kg", 1, 70),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def foam_row(row: Row) -> FoamType:
    """A foam: conductivity at 24 °C and how it changes with temperature."""
    return FoamType(
        id=_name(row, "id"),
        words=row.text("words"),
        k_w_mk=row.band(0.003, 0.1, ("k_low_w_mk", "k_typical_w_mk", "k_high_w_mk")),
        k_slope_per_c=row.number("k_slope_per_c", 0, 0.02),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def pack_row(row: Row) -> PackType:
    """A heat pack (watts) or a cold pack (melting point and latent heat)."""
    warms = row.flag("warms")
    watts = row.band(0.1, 30, ("watts_low", "watts_typical", "watts_high")) if warms else None
    if not warms and not row.optional("melts_c"):
        row.refuse("melts_c", "the melting point of a pack that does not warm")
    return PackType(
        id=_name(row, "id"),
        words=row.text("words"),
        warms=warms,
        size_mm=_size(row, 3, 600),
        mass_kg=row.number("mass_kg", 0.01, 5),
        watts=watts,
        warm_up_h=row.number("warm_up_h", 0, 12),
        lasts_h=row.number("lasts_h", 0, 240),
        melts_c=row.optional_number("melts_c", -30, 60),
        latent_j_kg=row.number("latent_j_kg", 0, 4e5),
        cp_j_kgk=row.number("cp_j_kgk", 400, 5000),
        air_gap_mm=row.number("air_gap_mm", 0, 200),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def pest_row(row: Row) -> Pest:
    """A pest, its hosts (genera when it lives on corals), and its generation by temperature."""
    return Pest(
        id=_name(row, "id"),
        words=row.text("words"),
        lives_on=row.word("lives_on", LivesOn),
        host_genera=frozenset(row.optional("host_genera").split()),
        generation_d=_generation(row),
        treat_again_d=_days_between(row, "treat_again_d"),
        clean_inspections=row.whole("clean_inspections", 1, 12),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def dip_row(row: Row) -> Dip:
    """A class of dip, for which corals, and for how long at most."""
    return Dip(
        id=_name(row, "id"),
        words=row.text("words"),
        trait_classes=frozenset(row.optional("trait_classes").split()),
        minutes=row.number("minutes", 0.1, 60),
        never=row.optional("never"),
        source=row.text("source"),
        grade=row.word("grade", Grade),
    )


def caution_row(row: Row) -> CautionRow:
    """A caution and when it applies."""
    return CautionRow(
        code=_name(row, "code"),
        applies=_name(row, "applies"),
        text=row.text("text"),
        source=row.text("source"),
    )


def listed_row(row: Row) -> ListedSpecies:
    """A species that the law protects."""
    return ListedSpecies(
        taxon=row.text("taxon"), status=row.one_of("status", STATUSES), source=row.text("source")
    )


def _name(row: Row, column: str) -> str:
    value = row.text(column)
    if value and not _NAME.fullmatch(value):
        row.refuse(column, "a name in small letters, digits and underscores")
    return value


def _size(row: Row, low: float, high: float) -> SizeMm:
    x, y, z = (row.number(column, low, high) for column in SIZE_COLUMNS)
    return (x, y, z)


def _days_between(row: Row, column: str) -> tuple[int, int] | None:
    """Read a span of days such as 13-31; nothing there is None."""
    text = row.optional(column)
    if not text:
        return None
    low, _, high = text.partition("-")
    if not (low.isdigit() and high.isdigit() and 0 < int(low) <= int(high)):
        row.refuse(column, "a span of days such as 13-31")
        return None
    return int(low), int(high)


def _generation(row: Row) -> tuple[tuple[float, float], ...]:
    points = []
    for word in row.optional("generation_d").split():
        temperature, _, days = word.partition(":")
        try:
            points.append((float(temperature), float(days)))
        except ValueError:
            row.refuse("generation_d", "pairs such as 24:64 27:38 (°C:days)")
            return ()
    if any(not 10 <= celsius <= 35 or not 0 < days <= 400 for celsius, days in points):
        row.refuse("generation_d", "temperatures from 10 to 35 °C and days up to 400")
    if sorted({celsius for celsius, _ in points}) != [celsius for celsius, _ in points]:
        row.refuse("generation_d", "rising temperatures, each once")
    return tuple(points)
