"""How sure a share of survivors is, when few were watched."""

LEVEL = 0.95


def jeffreys_interval_brown2001(alive: int, watched: int, level: float = LEVEL) -> tuple[float, float]:
    """Return the equal-tailed interval of a share, given that `alive` out of `watched` survived.

    Parameters
    ----------
    alive, watched
        Whole numbers, 0 <= alive <= watched.
    level
        Share of the posterior between the two ends, above 0 and below 1.

    Returns
    -------
    low, high
        Shares between 0 and 1; (0, 1) when nobody was watched.

    Notes
    -----
    Quantiles of Beta(alive + 1/2, watched - alive + 1/2). As the paper advises, the lower end is 0 when
    none survived and the upper end is 1 when all did, since the coverage falls short there otherwise.

    References
    ----------
    Brown, Cai and DasGupta (2001), Statistical Science 16, 101-133, section 4.1.1.
    https://doi.org/10.1214/ss/1009213286
    """
    if not 0 <= alive <= watched:
        raise ValueError(f"alive must be 0 to watched ({watched}), not {alive}")
    if not 0 < level < 1:
        raise ValueError(f"level must be above 0 and below 1, not {level}")
    if watched == 0:
        return 0.0, 1.0
    from scipy.special import betaincinv

    tail = (1 - level) / 2
    a, b = alive + 0.5, watched - alive + 0.5
    low = 0.0 if alive == 0 else float(betaincinv(a, b, tail))
    high = 1.0 if alive == watched else float(betaincinv(a, b, 1 - tail))
    return low, high
