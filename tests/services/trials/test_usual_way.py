"""The grower's usual way beside a trial, and what a bad file of habits is told."""

import pytest
from trial_text import COLD, WARM, read

from ramet.domain.errors import BadInput
from ramet.reference.tables import load_reference
from ramet.services.transit import TransitOrder, run_transit
from ramet.services.trials.usual_way import packed_usually, read_usual

REFERENCE = load_reference()


@pytest.fixture
def habit(tmp_path):
    def path(text: str):
        found = tmp_path / "usual.toml"
        found.write_text(text, encoding="utf-8")
        return found

    return path


def packed(tmp_path, text: str, path):
    return packed_usually(REFERENCE, read(tmp_path, text, REFERENCE), read_usual(REFERENCE, path), path)


def test_a_water_share_keeps_what_is_in_the_bag_in_all(tmp_path, habit):
    bag = packed(tmp_path, WARM, habit("water_share = 0.75")).box[0].bag[0]
    assert bag.water_l == pytest.approx(0.45)
    assert bag.gas_l == pytest.approx(0.15)
    assert (bag.layers, bag.oxygen_fraction) == (1, 0.2095)


def test_a_bag_of_the_catalogue_is_filled_to_its_share(tmp_path, habit):
    path = habit('bag = "round_127x305"\nfill_share = 0.8\nwater_share = 0.25\ngas = "oxygen"\nlayers = 2')
    bag = packed(tmp_path, WARM, path).box[0].bag[0]
    assert bag.water_l + bag.gas_l == pytest.approx(0.8 * REFERENCE.bags["round_127x305"].closed_l)
    assert bag.water_l == pytest.approx(0.25 * (bag.water_l + bag.gas_l))
    assert bag.oxygen_fraction > 0.9
    assert bag.layers == 2


def test_heat_packs_are_counted_by_box(tmp_path, habit):
    text = COLD.replace(
        "wall_k_w_mk = 0.036", 'wall_k_w_mk = 0.036\npacks = [{kind = "heat_20h", count = 3}]'
    )
    two = packed(tmp_path, text, habit("heat_packs = 2")).box[0]
    assert [(pack.kind, pack.count) for pack in two.packs] == [("heat_20h", 2)]
    assert packed(tmp_path, text, habit("heat_packs = 0")).box[0].packs == ()
    longer = packed(tmp_path, text, habit('heat_packs = 1\nheat_pack = "heat_72h"')).box[0]
    assert [(pack.kind, pack.count) for pack in longer.packs] == [("heat_72h", 1)]


BAD = [
    ("", "at least one of: water_share"),
    ('name = "x"', "at least one of"),
    ("water_share = 1.5", "of at most 1"),
    ("water_share = 0", "above 0"),
    ('gas = "helium"', "one of: air, oxygen"),
    ('bag = "sack"', "one of: "),
    ('heat_packs = 1\nheat_pack = "ice_250g"', "one of: heat_20h"),
    ("fill_share = 0.5\nlayers = 1", "a bag that it fills"),
    ("water_shar = 0.5", "nearest is “water_share”"),
]


@pytest.mark.parametrize(("text", "told"), BAD)
def test_a_bad_habit_is_told(habit, text, told):
    with pytest.raises(BadInput) as refused:
        read_usual(REFERENCE, habit(text))
    assert told in str(refused.value)
    assert "usual.toml" in str(refused.value)


def test_a_usual_bag_that_does_not_fit_the_box_is_told(tmp_path, habit):
    big = max(REFERENCE.bags.values(), key=lambda row: row.closed_l)
    text = WARM.replace("[300, 300, 300]", "[120, 120, 120]").replace("water_l = 0.4", "water_l = 0.2")
    with pytest.raises(BadInput, match="fits the box"):
        packed(tmp_path, text, habit(f'bag = "{big.id}"'))


def test_both_ways_stand_side_by_side(tmp_path, habit):
    # Common practice, no source: less gas is a shorter hold where oxygen ends it.
    trial = tmp_path / "trial.toml"
    trial.write_text(WARM.replace("gas_l = 0.2", "gas_l = 0.5"), encoding="utf-8")
    order = TransitOrder(usual=habit('name = "our habit"\nwater_share = 0.9'), compared=64)
    usual = run_transit(REFERENCE, trial, order).usual
    assert usual is not None
    assert usual.words == "our habit: 90 % water"
    assert [row.bag for row in usual.as_written] == [row.bag for row in usual.usual] == ["A"]
    assert usual.usual[0].hold_p05_h < usual.as_written[0].hold_p05_h - 1
    there = run_transit(REFERENCE, trial, TransitOrder()).bags[0]
    assert min(usual.bags[0].oxygen_mg_l) < min(there.oxygen_mg_l)
