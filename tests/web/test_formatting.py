"""Sentences of services in the grower's units; conversions by NIST SP 811 (2008), appendix B.8."""

import pytest

from ramet.formats.preferences import Preferences
from ramet.web.formatting import Wording

US = Wording(Preferences(units="us"))


@pytest.mark.parametrize(
    ("sentence", "wanted"),
    [
        ("colder than 18 °C for 5 h", "colder than 64 °F for 5 h"),
        ("tank 25.0 °C; measure", "tank 77.0 °F; measure"),
        ("reach 50 to 68 °C at the surface", "reach 122 to 154 °F at the surface"),
        ("between 20.5 and 25.5 °C on the way", "between 68.9 and 77.9 °F on the way"),
        ("down to -40 °C", "down to -40 °F"),
        (
            "swings by 1.5 °C a day; it should by at most 1 °C",
            "swings by 2.7 °F a day; it should by at most 1.8 °F",
        ),
        ("a night of -5 to 3 °C outside", "a night of 23 to 37 °F outside"),
        ("at 25 °C (77 °F) it rests", "at 25 °C (77 °F) it rests"),
        ("at least 10 cm from 2 kg", "at least 3.94 in from 4.4 lb"),
    ],
)
def test_a_sentence_is_turned_into_us_units(sentence: str, wanted: str) -> None:
    told = US.told(sentence).replace("\u00a0", " ").replace("−", "-")
    assert told == wanted


def test_a_sentence_stays_as_it_is_in_metric_units() -> None:
    assert Wording(Preferences()).told("colder than 18 °C for 5 h") == "colder than 18 °C for 5 h"
