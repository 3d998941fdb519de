"""Grams of the salts that raise alkalinity and calcium, and the strength of stocks made from them."""

SODIUM_BICARBONATE_G_MOL = 84.007
SODIUM_CARBONATE_G_MOL = 105.988
CALCIUM_CHLORIDE_G_MOL = 110.98
CALCIUM_CHLORIDE_DIHYDRATE_G_MOL = 147.01
CALCIUM_G_MOL = 40.078


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
