"""The climate as a fallback: whose numbers, how wide, and what a wrong place is told."""

from datetime import time
from pathlib import Path

import numpy as np
import pytest

from ramet.domain.errors import BadInput
from ramet.formats.ambient import Ambient
from ramet.reference.climate import climate_places, web_service
from ramet.reference.tables import load_reference
from ramet.services.weather.sources import air_of

REFERENCE = load_reference()
TRIAL = Path("trial.toml")


def air(**keys: object):
    return air_of(Ambient(**{"month": 1, "lasts_h": 30, **keys}), TRIAL, REFERENCE)


def test_a_month_swings_about_its_mean_and_is_warmest_in_the_afternoon():
    found = air(place="Chicago", leaves_at=time(9))
    day = found.at(np.arange(0.0, 24))
    half = REFERENCE.parameter("climate_half_swing_c").band.typical
    assert day.mean() == pytest.approx(-3.8)  # the table's row
    assert day.max() - day.min() == pytest.approx(2 * half)
    assert int(day.argmax()) == 15 - 9
    assert found.uncertain_c == REFERENCE.parameter("climate_day_spread_c").band.typical
    assert "no forecast" in found.words
    assert found.source in REFERENCE.sources


def test_normals_of_ones_own_stand_in_for_a_place():
    found = air(normals_c=tuple(range(-6, 6)), month=12)
    assert found.at(np.arange(0.0, 24)).mean() == pytest.approx(5)
    assert found.words.startswith("climate of the normals in the trial in December")


def test_a_band_of_ones_own_is_kept():
    assert air(place="Chicago", uncertain_c=3).uncertain_c == 3


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"place": "Chicagoe"}, "nearest in writing: Chicago"),
        ({"place": "Xyzzy"}, "or enter normals_c, twelve monthly means"),
        ({"place": "Chicago", "country": "GB"}, "Chicago, GB"),
    ],
)
def test_an_unknown_place_is_told_what_to_do(keys, told):
    with pytest.raises(BadInput) as refused:
        air(**keys)
    assert told in str(refused.value)
    assert "[ambient.place]" in str(refused.value)


def test_the_table_holds_together():
    places = climate_places()
    assert len({(place.name, place.country) for place in places}) == len(places) > 250
    for place in places:
        assert place.source in REFERENCE.sources
        assert -60 < min(place.monthly_c) <= max(place.monthly_c) < 45
        assert -90 <= place.latitude <= 90
        # Summer is where the sun is: away from the tropics July and January tell the hemispheres apart.
        if abs(place.latitude) > 30:
            assert (place.monthly_c[0] > place.monthly_c[6]) == place.southern, place.name


@pytest.mark.parametrize(
    ("name", "month", "published_c"),
    [
        # Station normals 1981-2010 of national weather services, from memory, as means of highs and lows.
        ("New York City", 1, 0.3),
        ("New York City", 7, 24.7),
        ("Chicago", 7, 23.4),
        ("Miami", 1, 20.1),
        ("London", 7, 18.7),
    ],
)
def test_places_agree_with_station_normals(name, month, published_c):
    """Within 1.5 °C: a grid cell of some 5 km against a station, parks and airports among them."""
    place = next(one for one in climate_places() if one.name == name)
    assert place.monthly_c[month - 1] == pytest.approx(published_c, abs=1.5)


def test_the_address_of_the_service_is_a_row_with_a_source():
    service = web_service("hourly_forecast")
    assert service.base_url.startswith("https://")
    assert service.source in REFERENCE.sources
