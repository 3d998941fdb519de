"""The means by which a tank puts minerals back: limewater, a reactor, water changes, dosed stocks."""

from dataclasses import dataclass

from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.receiving import Dosing, Reactor, Tank
from ramet.reference.tables import Reference
from ramet.science.salts import Strength, strength_of
from ramet.science.tank import after_change, calcium_mg, changes_per_day, limewater_meq_d, reactor_per_day


@dataclass(frozen=True, slots=True)
class Amounts:
    """Alkalinity [meq/d], calcium and magnesium [mg/d] that a means can add."""

    alkalinity_meq: float
    calcium_mg: float
    magnesium_mg: float


@dataclass(frozen=True, slots=True)
class Means:
    """One means of supply. What has a strength is dosed, up to `most_ml`; the others run as they run.

    `stock` is what a pump doses; limewater is dosed by hand or by the top-up.
    """

    name: str
    most: Amounts
    stock: Dosing | None = None
    strength: Strength | None = None
    most_ml: float = 0.0
    note: str = ""

    @property
    def kind(self) -> str:
        """What it is for: alkalinity, unless a stock holds none."""
        if self.strength is None or self.strength.alkalinity_meq_l > 0:
            return "alkalinity_meq"
        return "calcium_mg" if self.strength.calcium_mg_l > 0 else "magnesium_mg"

    @property
    def per_litre(self) -> float:
        """How much of its kind a litre of a stock holds; 0 for other means."""
        if self.strength is None:
            return 0.0
        return {
            "alkalinity_meq": self.strength.alkalinity_meq_l,
            "calcium_mg": self.strength.calcium_mg_l,
            "magnesium_mg": self.strength.magnesium_mg_l,
        }[self.kind]


def means_of(reference: Reference, tank: Tank) -> tuple[Means, ...]:
    """List the means of a tank."""
    return (
        *_limewater(reference, tank),
        *(_reactor(tank, one) for one in tank.reactor),
        *_water_change(tank),
        *(_dosed(reference, stock) for stock in tank.dosing),
    )


def _limewater(reference: Reference, tank: Tank) -> tuple[Means, ...]:
    if not tank.limewater or tank.evaporation_share_d <= 0:
        return ()
    strength = reference.parameter("limewater_alkalinity_meq_l").band.typical
    alkalinity = limewater_meq_d(tank.volume_l, tank.evaporation_share_d, strength)
    litres = tank.volume_l * tank.evaporation_share_d
    note = (
        f"at most {litres:.1f} L a day, the evaporated water, saturated; the rest is topped up with "
        "plain fresh "
        "water; caustic: add it slowly, at night, and keep it off skin and eyes; adds no magnesium"
    )
    most = Amounts(alkalinity, calcium_mg(alkalinity), 0.0)
    stock = Strength(strength, calcium_mg(strength), 0.0)
    return (Means("limewater", most, strength=stock, most_ml=1000 * litres, note=note),)


def _reactor(tank: Tank, one: Reactor) -> Means:
    def a_day(out: float, kept_at: float) -> float:
        return reactor_per_day(out, kept_at, one.flow_ml_min)

    magnesium = tank.magnesium_mg_l if one.magnesium_mg_l is None else one.magnesium_mg_l
    added = Amounts(
        a_day(one.alkalinity_dkh, tank.alkalinity_dkh) * MEQ_L_PER_DKH,
        a_day(one.calcium_mg_l, tank.calcium_mg_l),
        a_day(magnesium, tank.magnesium_mg_l),
    )
    note = (
        f"{one.flow_ml_min:g} mL/min of outflow at {one.alkalinity_dkh:g} dKH as measured; its carbon "
        "dioxide "
        "lowers the tank's pH"
    )
    return Means(one.name, added, note=note)


def _water_change(tank: Tank) -> tuple[Means, ...]:
    change = tank.water_change
    if change is None:
        return ()

    def a_day(fresh: float, kept_at: float) -> float:
        return changes_per_day(fresh, kept_at, change.share, change.every_d) * tank.volume_l

    added = Amounts(
        a_day(change.alkalinity_dkh, tank.alkalinity_dkh) * MEQ_L_PER_DKH,
        a_day(change.calcium_mg_l, tank.calcium_mg_l),
        a_day(change.magnesium_mg_l, tank.magnesium_mg_l),
    )
    jump = after_change(tank.alkalinity_dkh, change.alkalinity_dkh, change.share) - tank.alkalinity_dkh
    note = f"{change.share:.0%} every {change.every_d:g} d; each change shifts alkalinity by {jump:+.2f} dKH"
    return (Means("water changes", added, note=note),)


def _dosed(reference: Reference, stock: Dosing) -> Means:
    strength = (
        strength_of(stock.grams_per_l)
        if stock.grams_per_l
        else Strength(stock.alkalinity_meq_l, stock.calcium_mg_l, stock.magnesium_mg_l)
    )
    litres = stock.most_ml_d / 1000
    most = Amounts(
        strength.alkalinity_meq_l * litres, strength.calcium_mg_l * litres, strength.magnesium_mg_l * litres
    )
    note = f"at most {stock.most_ml_d:g} mL a day" + _too_much_to_dissolve(reference, stock)
    return Means(stock.name, most, stock, strength, stock.most_ml_d, note)


def _too_much_to_dissolve(reference: Reference, stock: Dosing) -> str:
    for salt, grams in stock.grams_per_l.items():
        limit = reference.parameters.get(f"soluble_{salt}_g_l")
        if limit is not None and grams > limit.band.typical:
            return (
                f"; {grams:g} g/L of {salt.replace('_', ' ')} do not dissolve, about "
                f"{limit.band.typical:g} do: what stays solid adds nothing"
            )
    return ""
