"""A journey through real hourly weather: the typical-year files that ship inside the library pvlib.

Sand Point, Alaska (maritime) and Greensboro, North Carolina (inland); pvlib serves tests alone.
"""

import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from ramet.formats.ambient import Ambient
from ramet.reference.tables import load_reference
from ramet.services.transit import TransitOrder, run_transit
from ramet.services.weather.sources import air_of

if os.environ.get("RAMET_REQUIRE_ALL") != "1":
    pytest.importorskip("pvlib", reason="hourly weather needs the test library pvlib")

REFERENCE = load_reference()
FILES = {"Sand Point": "703165TY.csv", "Greensboro": "723170TYA.CSV"}
BOX = """
[ambient]
file = "weather.csv"
starts = {starts}
lasts_h = 30
[[box]]
inner_mm = [300, 300, 300]
wall_mm = 38
wall_k_w_mk = 0.036
{packs}
[[box.mass]]
kg = 8
start_c = 25
cp_j_kgk = 4000
"""


@pytest.fixture(scope="module", params=list(FILES))
def year(request) -> tuple[str, Any]:
    """The air temperatures of a typical year, by hour, with the clock of the station."""
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / FILES[request.param]
    table, _ = pvlib.iotools.read_tmy3(path, map_variables=True)
    return request.param, table["temp_air"]


def write_month(folder: Path, air: Any, month: int) -> Any:
    """Write one month as a table of times and temperatures, and return it."""
    part = air[air.index.month == month].iloc[1:-1]  # midnights may have another year
    rows = "".join(f"{moment.isoformat()},{value:.2f}\n" for moment, value in part.items())
    (folder / "weather.csv").write_text("time,temperature_c\n" + rows, encoding="utf-8")
    return part


def test_a_box_of_water_follows_real_weather_as_one_body_does(tmp_path, year):
    """Eight litres as one body, against dT/dt = (Ta - T) / τ in the same air, by exact steps.

    τ is taken from our own box at constant air, so that only the weather is put to the test.
    """
    _, air = year
    part = write_month(tmp_path, air, 1)
    trial = tmp_path / "trial.toml"
    trial.write_text(BOX.format(starts=part.index[24].isoformat(), packs=""), encoding="utf-8")
    found = run_transit(REFERENCE, trial, TransitOrder())
    outside = np.interp(found.hours, np.arange(31), part.to_numpy()[24:55])
    assert found.ambient_c == pytest.approx(outside, abs=0.006)  # two decimals in the file
    # The air of the box is a fixed share of the way from outside to the water, so it cools with the same τ.
    inside, hours = np.array(found.boxes[0].air_c), np.array(found.hours)
    still = tmp_path / "still.toml"
    record = "[ambient]\nhours = [0, 24, 48]\ntemperature_c = [0, 0, 0]\n"
    still.write_text(record + trial.read_text()[trial.read_text().index("[[box]]") :], encoding="utf-8")
    quiet = run_transit(REFERENCE, still, TransitOrder())
    decay = np.array(quiet.boxes[0].air_c)
    tau = 48.0 / np.log(decay[0] / decay[-1])
    share = decay[0] / 25.0
    water = np.empty(hours.size)
    water[0] = 25.0
    for i, step in enumerate(np.diff(hours)):
        slope = (outside[i + 1] - outside[i]) / step
        # dT/dt = (Ta - T)/τ with Ta on a line: T lags the line by slope τ once the start has died away.
        water[i + 1] = (
            outside[i + 1] - slope * tau + (water[i] - outside[i] + slope * tau) * np.exp(-step / tau)
        )
    expected = outside + share * (water - outside)
    assert inside == pytest.approx(expected, abs=0.05)


def test_a_heat_pack_lifts_the_box_through_a_real_night(tmp_path, year):
    _, air = year
    part = write_month(tmp_path, air, 1)
    trial = tmp_path / "trial.toml"
    ends = []
    for packs in (1, 3):
        trial.write_text(
            BOX.format(
                starts=part.index[30].isoformat(), packs=f'packs = [{{kind = "heat_40h", count = {packs}}}]'
            ),
            encoding="utf-8",
        )
        ends.append(run_transit(REFERENCE, trial, TransitOrder()).boxes[0].air_c[-1])
    assert ends[1] > ends[0] + 1


@pytest.mark.parametrize("month", [1, 4, 7, 10])
def test_the_wide_band_of_normals_holds_real_hours(year, month):
    """With the station's own mean as normal, most hours lie within the band about the mean day."""
    _, air = year
    part = air[air.index.month == month]
    normals = [float(air[air.index.month == m].mean()) for m in range(1, 13)]
    ambient = Ambient(normals_c=tuple(normals), month=month, lasts_h=24)
    known = air_of(ambient, Path("trial.toml"), REFERENCE)
    clock = part.index.hour.to_numpy()
    mean_day = known.at((clock - known.clock_h) % 24)
    off = np.abs(part.to_numpy() - mean_day)
    assert np.mean(off <= known.uncertain_c + 0.5) >= 0.85
    assert np.mean(off <= known.uncertain_c * 1.5 + 0.5) >= 0.95


def test_a_longer_wait_repeats_no_invented_weather(tmp_path, year):
    """Inside the file every shifted departure meets the hours of the file itself."""
    _, air = year
    part = write_month(tmp_path, air, 7)
    ambient = Ambient(file="weather.csv", starts=part.index[200].to_pydatetime(), lasts_h=24)
    known = air_of(ambient, tmp_path / "trial.toml", REFERENCE)
    for shift in (-6.0, 6.0, 48.0):
        assert known.covers(shift, shift + 24)
        hours, warm = known.window(shift, 24.0)
        start = int(200 + shift)
        assert warm == pytest.approx(
            np.interp(hours, np.arange(25), part.to_numpy()[start : start + 25]), abs=0.006
        )
