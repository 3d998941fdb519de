"""Grams of the salts that raise alkalinity and calcium, and the strength of stocks made from them."""

from collections.abc import Mapping
from dataclasses import dataclass

SODIUM_BICARBONATE_G_MOL = 84.007
SODIUM_CARBONATE_G_MOL = 105.988
CALCIUM_CHLORIDE_G_MOL = 110.98
CALCIUM_CHLORIDE_DIHYDRATE_G_MOL = 147.01
CALCIUM_G_MOL = 40.078
MAGNESIUM_G_MOL = 24.305


@dataclass(frozen=True, slots=True)
class Salt:
    """What a mole of a salt weighs [g] and brings: alkalinity [eq], calcium and magnesium [mol]."""

    g_mol: float
    alkalinity_eq: int = 0
    calcium_mol: int = 0
    magnesium_mol: int = 0


SALTS: Mapping[str, Salt] = {
    "sodium_bicarbonate": Salt(SODIUM_BICARBONATE_G_MOL, alkalinity_eq=1),
    "sodium_carbonate": Salt(SODIUM_CARBONATE_G_MOL, alkalinity_eq=2),
    "calcium_chloride_anhydrous": Salt(CALCIUM_CHLORIDE_G_MOL, calcium_mol=1),
    "calcium_chloride_dihydrate": Salt(CALCIUM_CHLORIDE_DIHYDRATE_G_MOL, calcium_mol=1),
    "magnesium_chloride_hexahydrate": Salt(203.30, magnesium_mol=1),
    "magnesium_sulfate_heptahydrate": Salt(246.47, magnesium_mol=1),
}


@dataclass(frozen=True, slots=True)
class Strength:
    """What a litre of stock holds: alkalinity [meq], calcium and magnesium [mg]."""

    alkalinity_meq_l: float
    calcium_mg_l: float
    magnesium_mg_l: float


def strength_of(grams_per_l: Mapping[str, float]) -> Strength:
    """Strength of a stock from the grams of each salt in a litre of it."""
    mmol_l = {name: 1000 * grams / SALTS[name].g_mol for name, grams in grams_per_l.items()}
    return Strength(
        sum(SALTS[name].alkalinity_eq * amount for name, amount in mmol_l.items()),
        sum(SALTS[name].calcium_mol * amount for name, amount in mmol_l.items()) * CALCIUM_G_MOL,
        sum(SALTS[name].magnesium_mol * amount for name, amount in mmol_l.items()) * MAGNESIUM_G_MOL,
    )


def bicarbonate_g(alkalinity_meq: float) -> float:
    """Sodium bicarbonate (baking soda) [g] that adds so much alkalinity."""
    return alkalinity_meq * SODIUM_BICARBONATE_G_MOL / 1000


def carbonate_g(alkalinity_meq: float, purity: float = 1.0) -> float:
    """Sodium carbonate (soda ash) [g] that adds so much alkalinity: two equivalents a mole."""
    return alkalinity_meq * SODIUM_CARBONATE_G_MOL / 2 / 1000 / purity


def calcium_chloride_g(calcium_mg: float, dihydrate: bool = True) -> float:
    """Calcium chloride [g] that adds so much calcium [mg]."""
    molar = CALCIUM_CHLORIDE_DIHYDRATE_G_MOL if dihydrate else CALCIUM_CHLORIDE_G_MOL
    return calcium_mg / CALCIUM_G_MOL * molar / 1000


def bicarbonate_stock_meq_l(grams: float, volume_l: float) -> float:
    """Alkalinity [meq/L] of a stock of so much sodium bicarbonate, baked to carbonate or not."""
    return grams / SODIUM_BICARBONATE_G_MOL / volume_l * 1000


def dose_ml(alkalinity_meq: float, stock_meq_l: float) -> float:
    """Stock [mL] that adds so much alkalinity."""
    return alkalinity_meq / stock_meq_l * 1000
