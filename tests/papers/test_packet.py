"""The packet, read back with pypdf, pypdfium2 and zxing-cpp: it must say what the plan says."""

import re
from datetime import timedelta
from functools import cache

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader
from sample_plan import sample_dict, sample_plan

from ramet.formats.plan import Bag, Plan
from ramet.papers import words
from ramet.papers.labels import bag_payload
from ramet.papers.packet import packet_pdf, paper_of
from ramet.papers.packing_list import packing_list_context
from ramet.papers.words import closures, filling, sharing

LONG = "The long winter display of the second floor reading room, north wing"
MM = 72 / 25.4


@cache
def _pages(bags: int = 8, boxes: int = 2, name: str = "Library reef", long_names: bool = False):
    plan = sample_plan(bags, boxes=boxes, name=name, long_names=long_names)
    pdf = packet_pdf(plan)
    return plan, pdf, _texts(pdf)


def _texts(pdf: bytes) -> list[str]:
    import io

    texts = (page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return [re.sub(r"\s+", " ", text) for text in texts]


def _sheet(pages: list[str], name: str) -> str:
    return " ".join(page for page in pages if page.startswith(name))


def test_the_bench_reads_bag_by_bag_what_can_take_a_rejected_piece_s_place():
    data = sample_dict(8, boxes=2, name="Library reef", long_names=False)
    bags = {one["request"]: one["bag"] for one in data["chosen"]}
    line, bag = next(iter(bags.items()))
    spare = {"strain": "Slate", "taxon": "Montipora capricornis", "size_mm": (50, 40, 30), "how": "whole"}
    ranked = [spare | {"piece": "Q-01", "bags": [bag]}, spare | {"piece": "Q-02", "bags": []}]
    other = next(request for request in bags if request != line)
    data["substitutes"] = [
        {"request": line, "ranked": ranked, "note": ""},
        {"request": other, "ranked": [], "note": "nothing else in stock answers to this line"},
    ]
    boxes = packing_list_context(Plan.model_validate(data))
    rows = [row for box in boxes for row in box["spares"]]
    assert other not in {row["line"] for row in rows}
    assert any(f"Nothing else in stock answers to {other}:" in box["without_spares"] for box in boxes)
    here = next(row for row in rows if bag in row["bags"])
    assert (here["line"], here["fitting"], here["others"]) == (line, "Q-01", "Q-02")


def test_bags_that_pieces_share_say_how_they_are_filled_and_kept_apart():
    data = sample_dict(8, boxes=2, name="Library reef", long_names=False)
    shared, alone = (next(b for b in data["bags"] if len(b["pieces"]) == n) for n in (2, 1))
    assert "fixed apart" in sharing(Bag.model_validate(shared))
    assert sharing(Bag.model_validate(alone)) == ""
    shared |= {"compartments": 2, "layers": 2, "water_l": 0.26}
    bag = next(b for b in Plan.model_validate(data).bags if b.id == shared["id"])
    assert sharing(bag).startswith("one piece in each pocket")
    assert filling(bag, bag.water_l) == "2 × 0.13 L"
    assert closures(bag) == 4
    pages = _texts(packet_pdf(Plan.model_validate(data)))
    assert "2 × 0.13 L water" in _sheet(pages, "Packing")
    assert "one piece in each pocket" in _sheet(pages, "Packing")


def test_the_bench_reads_where_paper_goes_between_two_bags():
    # Common practice, no source: branches pierce a bag; a soft coral's second bag is for leaks.
    plan = sample_plan(8)
    told = {row["id"]: row["layers"] for box in packing_list_context(plan) for row in box["bags"]}
    forms = {one.bag: one.form for one in plan.chosen}
    assert {told[bag] for bag, form in forms.items() if form == "branching"} == {"2 layers, paper between"}
    assert {told[bag] for bag, form in forms.items() if form != "branching"} == {"2 layers"}
    single = sample_dict(8, boxes=2, name="Reef", long_names=False)
    single["bags"][0]["layers"] = 1
    (first,) = [
        row["layers"]
        for box in packing_list_context(Plan.model_validate(single))
        for row in box["bags"]
        if row["id"] == single["bags"][0]["id"]
    ]
    assert first == "single"


def test_the_same_plan_gives_the_same_bytes():
    assert packet_pdf(sample_plan()) == packet_pdf(sample_plan())


def test_the_sheets_come_in_the_order_of_the_work():
    _, _, pages = _pages()
    names = [
        *("Cover", "Notes", "Lay out first", "Packing: box-1", "Packing: box-2", "Journey", "Calendar"),
        *("Bag labels", "For the receiver", "Travels with the boxes", "Outside of box-1", "Outside of box-2"),
    ]
    first = [next(i for i, page in enumerate(pages) if page.startswith(name)) for name in names]
    assert first == sorted(first)


def test_the_cover_says_the_verdict_the_numbers_and_what_stays_behind():
    plan, _, pages = _pages()
    cover = _sheet(pages, "Cover")
    for text in ("Goes, but short", plan.verdict, "+4.3 h", "−19.7 h", "oxygen below 2 mg/L for 6 h"):
        assert text in cover
    for left in plan.left_out:
        assert left.reasons[0].would_fit_if in cover
    for caution in plan.cautions:
        assert (caution.text in cover) == (caution.code in {"palytoxin", "heavy_box"})


def test_the_notes_have_every_caution_with_its_source_and_every_reason():
    plan, _, pages = _pages()
    notes = _sheet(pages, "Notes")
    sources = list(dict.fromkeys(caution.source for caution in plan.cautions))
    for caution in plan.cautions:
        found = re.search(rf"{re.escape(caution.text)} \[(\d)\]", notes)
        assert f"[{found[1]}] {caution.source}" in notes
    assert len(sources) == 4


def test_reasons_that_do_not_fit_the_cover_are_in_the_notes():
    data = sample_dict(2, boxes=1, name="Many", long_names=False)
    line = data["left_out"][0]
    data["left_out"] = [
        {
            **line,
            "request": f"R{n}",
            "reasons": [{**line["reasons"][0], "text": f"reason {n}{part}", "code": part} for part in "ab"],
        }
        for n in range(20, 32)
    ]
    pages = _texts(packet_pdf(Plan.model_validate(data)))
    assert "and 5 more, on the next sheet" in _sheet(pages, "Cover")
    for n in range(20, 32):
        assert f"reason {n}a" in _sheet(pages, "Notes")
        assert f"reason {n}b" in _sheet(pages, "Notes")


def test_the_cover_gives_each_time_in_the_zone_of_its_reader():
    _, _, pages = _pages()
    cover = _sheet(pages, "Cover")
    assert "15:30 CST" in cover
    assert "10:30 MST" in cover


def test_the_lay_out_list_adds_up_to_what_the_bags_hold():
    plan, _, pages = _pages()
    sheet = _sheet(pages, "Lay out first")
    assert words.litres(sum(bag.water_l for bag in plan.bags)) in sheet
    assert words.litres(sum(bag.gas_l for bag in plan.bags if bag.gas == "oxygen")) in sheet
    assert "16 closures" in sheet
    assert "2 packs heat pack 40 h" in sheet


def test_each_box_sheet_lists_its_own_bags_with_water_and_gas_in_order_of_sealing():
    plan, _, pages = _pages()
    for box in plan.boxes:
        sheet = _sheet(pages, f"Packing: {box.id}")
        mine = sorted((b for b in plan.bags if b.box == box.id), key=lambda b: b.sealing_order)
        # The table comes before the drawings' own text in the extracted stream or after it: search rows.
        rows = [
            re.search(rf"{bag.sealing_order} {bag.id} .*?{re.escape(words.litres(bag.water_l))}", sheet)
            for bag in mine
        ]
        assert all(rows)
        assert [row.start() for row in rows] == sorted(row.start() for row in rows)
        assert words.kilograms(box.billed_kg) in sheet


def test_the_journey_sheet_has_every_bag_with_its_band_and_both_margins():
    plan, _, pages = _pages()
    sheet = _sheet(pages, "Journey")
    for bag in plan.forecast.bags:
        assert words.held_band(bag.hold_h, plan.horizon_h) in sheet
        assert words.signed_hours(bag.margin_h) in sheet
        assert words.signed_hours(bag.margin_late_h) in sheet


def test_the_calendar_sheet_has_every_task_with_time_and_latest_start():
    plan, _, pages = _pages()
    sheet = _sheet(pages, "Calendar")
    for task in plan.tasks:
        assert task.title in sheet
    assert "13:30–15:20 Seal the bags in order" in sheet
    assert "11:00–12:20 Open the bags in order" in sheet


def test_work_that_runs_over_days_says_on_which_day_it_ends():
    data = sample_dict(2, boxes=1, name="Healing", long_names=False)
    data["tasks"][0]["ends"] = data["tasks"][0]["starts"] + timedelta(days=7)
    sheet = _sheet(_texts(packet_pdf(Plan.model_validate(data))), "Calendar")
    assert "08:30 to Fri 15 Jan 08:30 Cut from the mothers" in sheet


def test_the_receiver_reads_the_danger_before_anything_else():
    _, _, pages = _pages()
    sheet = _sheet(pages, "For the receiver")
    assert sheet.index("First. TOXIC, bag A05: gloves, eye and face cover.") < sheet.index(
        "Open in this order"
    )
    assert sheet.index("only a trained adult") < sheet.index("The boxes reach")


def test_steps_that_all_bags_share_are_written_once_and_others_beside_their_bag():
    data = sample_dict(3, boxes=1, name="Steps", long_names=False)
    shared = ["Open it.", "Dim the lamps."]
    for n, one in enumerate(data["tank"]["acclimation"]):
        one["steps"] = [f"Float it for {n + 5} minutes.", *shared]
    sheet = _sheet(_texts(packet_pdf(Plan.model_validate(data))), "For the receiver")
    assert [sheet.count(step) for step in shared] == [1, 1]
    table = sheet[sheet.index("Open in this order") :]
    for n in range(3):
        assert f"Float it for {n + 5} minutes." in table


def test_a_harmless_shipment_to_trained_people_has_no_first_line():
    data = sample_dict(3, boxes=1, name="Stony", long_names=False)
    data["shipment"]["lay_hands"] = False
    assert "First." not in _sheet(_texts(packet_pdf(Plan.model_validate(data))), "For the receiver")


def test_the_papers_that_travel_count_each_species():
    plan, _, pages = _pages()
    sheet = _sheet(pages, "Travels with the boxes")
    for taxon in {one.taxon for one in plan.chosen}:
        assert f"{taxon} {sum(one.taxon == taxon for one in plan.chosen)}" in sheet
    assert "Check your local rules and ask a licensed professional." in sheet


def test_the_letters_on_the_outside_are_twenty_five_millimetres_high():
    """Carriers ask for LIVE ANIMALS in letters of 25 mm (1 in) or more."""
    _, pdf, pages = _pages()
    page = pypdfium2.PdfDocument(pdf)[next(i for i, p in enumerate(pages) if p.startswith("Outside"))]
    text = page.get_textpage()
    boxes = [text.get_charbox(i) for i in range(text.count_chars()) if text.get_text_range(i, 1) in "LIVEANM"]
    tallest = max(top - bottom for _, bottom, _, top in boxes)
    assert tallest >= 25 * MM


@pytest.mark.parametrize(("name", "long_names"), [("Library reef", False), (LONG, True)])
def test_every_label_has_a_code_that_a_reader_reads_off_the_printed_page(name, long_names):
    plan, pdf, pages = _pages(24, 2, name, long_names)
    document = pypdfium2.PdfDocument(pdf)
    read = set()
    for i, page in enumerate(pages):
        if page.startswith("Bag labels"):
            image = document[i].render(scale=200 / 72).to_pil()
            read |= {code.text for code in zxingcpp.read_barcodes(image)}
    assert read == {bag_payload(plan, bag.id) for bag in plan.bags}


@pytest.mark.parametrize(("name", "long_names"), [("Library reef", False), (LONG, True)])
def test_no_letter_leaves_its_label(name, long_names):
    """Labels are cut at 90 × 60 mm from the margins of the sheet; the inset is 3 mm."""
    _, pdf, pages = _pages(24, 2, name, long_names)
    document = pypdfium2.PdfDocument(pdf)
    for i, page in enumerate(pages):
        if not page.startswith("Bag labels"):
            continue
        sheet = document[i]
        left = (sheet.get_width() - 180 * MM) / 2
        top = sheet.get_height() - 22 * MM
        text = sheet.get_textpage()
        for k in range(text.count_chars()):
            x0, y0, x1, y1 = text.get_charbox(k)
            inside = top - 240 * MM <= y0 and y1 <= top
            if not inside or x1 <= x0:
                continue
            column, row = (x0 - left) // (90 * MM), (top - y1) // (60 * MM)
            assert left + (90 * column + 2.5) * MM <= x0, text.get_text_range(k, 1)
            assert x1 <= left + (90 * column + 87.5) * MM
            assert top - y0 <= (60 * row + 57.6) * MM


def test_labels_carry_the_whole_of_the_longest_names():
    plan, _, pages = _pages(24, 2, LONG, True)
    labels = _sheet(pages, "Bag labels").replace("- ", "-")
    for one in plan.chosen:
        assert one.strain in labels
        assert one.taxon in labels
    assert labels.count("THIS WAY UP") == sum(bag.stance == "stands" for bag in plan.bags)
    assert labels.count("TOXIC: gloves, eye and face cover") == 3


def test_nothing_runs_off_a_sheet_even_with_the_longest_names():
    _, pdf, _ = _pages(24, 2, LONG, True)
    for page in pypdfium2.PdfDocument(pdf):
        text = page.get_textpage()
        for k in range(text.count_chars()):
            x0, y0, x1, y1 = text.get_charbox(k)
            assert x0 >= 10 * MM - 1
            assert x1 <= page.get_width() - 10 * MM
            assert y0 >= 5 * MM
            assert y1 <= page.get_height() - 5 * MM


def test_a_plan_in_which_nothing_goes_has_only_a_cover_and_notes():
    data = sample_dict(1, boxes=1, name="Nothing", long_names=False)
    data |= {"status": "impossible", "verdict": "No bag holds long enough.", "chosen": [], "bags": [],
             "boxes": [], "tasks": []}  # fmt: skip
    data["forecast"] |= {"bags": [], "boxes": []}
    cover, notes = _texts(packet_pdf(Plan.model_validate(data)))
    assert "Does not go" in cover
    assert notes.startswith("Notes")


def test_goods_get_a_bag_a_label_and_a_line_of_their_own():
    data = sample_dict(3, boxes=1, name="Goods", long_names=False)
    data["chosen"] = [one for one in data["chosen"] if one["bag"] != "A01"]
    data["bags"][0] |= {"pieces": [], "goods": "matured filter media, mesh bag", "class": "goods"}
    pages = _texts(packet_pdf(Plan.model_validate(data)))
    for name in (
        "Packing: box-1",
        "Bag labels",
        "For the receiver",
        "Travels with the boxes",
        "Outside of box-1",
    ):
        assert "matured filter media, mesh bag" in _sheet(pages, name)


def test_names_that_look_like_markup_are_printed_as_they_are():
    odd = '#let x = 1 $a_b$ *bold* <tag> "q" \\ `raw`'
    data = sample_dict(1, boxes=1, name=odd, long_names=False)
    data["chosen"][0]["strain"] = odd
    pages = _texts(packet_pdf(Plan.model_validate(data)))
    assert odd in _sheet(pages, "Cover")
    assert odd in _sheet(pages, "Bag labels")


def test_paper_follows_the_senders_printer():
    data = sample_dict(1, boxes=1, name="x", long_names=False)
    assert paper_of(Plan.model_validate(data)) == "us-letter"
    data["shipment"]["sender_zone"] = "Europe/Lisbon"
    plan = Plan.model_validate(data)
    assert paper_of(plan) == "a4"
    assert pypdfium2.PdfDocument(packet_pdf(plan))[0].get_width() == pytest.approx(210 * MM, abs=0.1)
