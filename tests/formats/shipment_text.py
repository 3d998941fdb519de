"""A small valid shipment as a user would write it, with places to put other lines. All names are invented."""

GOOD = """\
name = "Small reef"
due = 2027-01-20T11:00:00-07:00
receiver = "Plains Library"

[tank]
volume_l = "100 gal"
alkalinity_dkh = 8
calcium_mg_l = 420
magnesium_mg_l = 1300

[[request]]
id = "branching"
rank = "must"
count = 2
taxon = "Acropora"

[[box]]
type = "cube"
count = 1
inner_mm = ["12 in", 305, "30.5 cm"]

[[leg]]
name = "van"
start = 2027-01-19T15:30:00-06:00
end = 2027-01-19T19:30:00-06:00
surroundings = "vehicle"
low_c = "40 °F"
high_c = 12

[[leg]]
name = "depot"
start = 2027-01-19T19:30:00-06:00
end = 2027-01-20T10:00:00-07:00
surroundings = "depot"
low_c = 2
high_c = 8
"""


def with_line(old: str, new: str) -> str:
    """Return the shipment with the first line that is `old` replaced."""
    assert f"\n{old}\n" in GOOD
    return GOOD.replace(f"\n{old}\n", f"\n{new}\n" if new else "\n", 1)


def line_of(text: str, part: str) -> int:
    """Return the number of the first line that holds `part`."""
    return next(number for number, line in enumerate(text.split("\n"), start=1) if part in line)
