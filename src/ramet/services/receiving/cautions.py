"""What a careful person would say about the receiving tank before the boxes leave."""

from collections.abc import Iterator, Sequence
from datetime import date

from ramet.domain.piece import WaterRecord
from ramet.domain.words import BagClass, Tolerance
from ramet.formats.plan import Caution
from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Biofilter, Demand, Supply
from ramet.reference.tables import Reference
from ramet.science.salts import bicarbonate_g, carbonate_g
from ramet.science.tank import meq
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.lighting import falls_too_far, lighting
from ramet.services.receiving.water_cautions import water_cautions

_MOST_NAMES = 6
_STEADY_DKH = 0.1
"""A rise by less than this a day is within the error of the demand."""


def tank_cautions(
    reference: Reference,
    tank: Tank,
    pieces: Sequence[ArrivingPiece],
    sources: Sequence[WaterRecord],
    demand: Sequence[Demand],
    supply: Sequence[Supply],
    biofilter: Biofilter,
    arrives: date | None = None,
) -> tuple[Caution, ...]:
    """Return the cautions about water, age, minerals, biofilter and light."""
    found = (
        *water_cautions(reference, tank, sources, arrives),
        *_age(reference, tank, pieces),
        *_count(reference, tank, pieces),
        *_minerals(reference, tank, demand, supply),
        *_filter(biofilter),
        *_light(reference, tank, pieces),
        *_flow(reference, tank, pieces),
    )
    return tuple(one.model_copy(update={"source": reference.sources[one.source].citation}) for one in found)


def _age(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> Iterator[Caution]:
    limit = reference.parameter("young_tank_weeks").band.typical
    if tank.age_weeks >= limit:
        return
    touchy = sorted(
        {
            genus.name
            for one in pieces
            if (genus := reference.genus(one.taxon)) and _is_touchy(genus.tolerance)
        }
    )
    if touchy:
        yield Caution(
            code="young_tank",
            text=f"The tank is {tank.age_weeks:g} weeks old; {', '.join(touchy)} do better after {limit:g} "
            "weeks. "
            "Send the hardiest strains first, and few.",
            source="memory",
        )


def _is_touchy(tolerance: Tolerance) -> bool:
    return tolerance is Tolerance.SENSITIVE


def _count(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> Iterator[Caution]:
    many = reference.parameter("first_day_corals").band
    young = tank.age_weeks < reference.parameter("young_tank_weeks").band.typical
    if young and len(pieces) > many.typical:
        yield Caution(
            code="many_at_once",
            text=f"{len(pieces)} corals on one day are many for a tank of {tank.age_weeks:g} weeks: "
            "growers start "
            f"with {many.low:.0f} to {many.typical:.0f}. The mineral supply gives out before the biofilter.",
            source="practice",
        )


def _minerals(
    reference: Reference, tank: Tank, demand: Sequence[Demand], supply: Sequence[Supply]
) -> Iterator[Caution]:
    most = sum(one.alkalinity_dkh_d for one in supply)
    first = demand[0].alkalinity
    later = [one for one in demand if one.alkalinity.typical > most]
    yield from _too_much(tank, demand, supply)
    if first.typical > most:
        missing = meq(first.typical - most, tank.volume_l)
        yield Caution(
            code="alkalinity_short",
            text=f"Expected alkalinity use on day 0 is {first.typical:.2f} dKH a day ({first.low:.2f} to "
            f"{first.high:.2f}); the tank can add {most:.2f}. Send less, or dose the rest: "
            f"{bicarbonate_g(missing):.1f} g of baking soda or {carbonate_g(missing):.1f} g of soda ash a "
            "day.",
            source="derived",
        )
    elif later:
        yield Caution(
            code="alkalinity_outgrown",
            text=f"By day {later[0].day} {later[0].alkalinity.typical:.2f} dKH of alkalinity are used a "
            "day and "
            f"the tank can add {most:.2f}: raise the supply before then.",
            source="derived",
        )
    yield from _reserves(reference, demand, supply)


def _too_much(tank: Tank, demand: Sequence[Demand], supply: Sequence[Supply]) -> Iterator[Caution]:
    """Say when what can't be throttled adds more than is used."""
    steady = sum(one.alkalinity_dkh_d for one in supply if one.dose_ml_d is None)
    used = demand[0].alkalinity.typical
    if steady > used + _STEADY_DKH:
        yield Caution(
            code="alkalinity_rises",
            text=f"What runs by itself adds {steady:.2f} dKH a day and {used:.2f} are used on day 0: "
            "turn the "
            "reactor down, or alkalinity rises.",
            source="derived",
        )


def _reserves(reference: Reference, demand: Sequence[Demand], supply: Sequence[Supply]) -> Iterator[Caution]:
    """Calcium and magnesium are held in store: a shortfall matters once the store has fallen a little."""
    for name in ("calcium", "magnesium"):
        most = sum(getattr(one, f"{name}_mg_l_d") for one in supply)
        slack = reference.parameter(f"{name}_slack_mg_l").band.typical
        used, before = 0.0, demand[0]
        for after in demand[1:]:
            mean = (getattr(before, name).typical + getattr(after, name).typical) / 2
            used += max(0.0, mean - most) * (after.day - before.day)
            before = after
            if used > slack:
                yield Caution(
                    code=f"{name}_short",
                    text=f"{name.capitalize()} falls by more than {slack:g} mg/L before day {after.day}: the "
                    f"corals use {getattr(after, name).typical:.2f} mg/L a day by then, the tank can add "
                    f"{most:.2f}. Test it and add some.",
                    source="derived",
                )
                break


def _filter(biofilter: Biofilter) -> Iterator[Caution]:
    if not biofilter.enough:
        yield Caution(code="biofilter_thin", text=f"Biofilter: {biofilter.note}.", source="nijhof1990")


def _light(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> Iterator[Caution]:
    falling, unlit = [], []
    for piece in pieces:
        lit = lighting(reference, tank, piece)
        if falls_too_far(reference, piece, lit):
            falling.append(piece.piece)
        if not lit.zone_fits:
            unlit.append(piece.piece)
    if falling:
        yield Caution(
            code="light_down",
            text=f"Less than half the light they grew under: {_named(falling)}. They live but grow slowly.",
            source="practice",
        )
    if unlit:
        yield Caution(
            code="no_light_zone",
            text=f"No zone of the tank is in their range of light: {_named(unlit)}.",
            source="practice",
        )


def _flow(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> Iterator[Caution]:
    """Soft and stony corals in one tank whose water has no known, or no steady, direction."""
    soft = [genus for one in pieces if (genus := reference.genus(one.taxon))]
    classes = {genus.bag_class for genus in soft}
    if BagClass.SOFT not in classes or len(classes) < 2 or tank.flow_from not in (None, "changing"):
        return
    why = "is not told" if tank.flow_from is None else "changes"
    yield Caution(
        code="soft_up_current",
        text=f"Soft and stony corals share this tank and the direction of its flow {why}: soft ones "
        "could not be "
        "kept out of the current above stony ones. Fresh activated carbon, changed every 2 to 4 weeks.",
        source="sammarco1983",
    )


def _named(pieces: Sequence[str]) -> str:
    rest = len(pieces) - _MOST_NAMES
    words = ", ".join(pieces[:_MOST_NAMES])
    return words if rest <= 0 else f"{words} and {rest} more"
