"""The packet: all sheets of a shipment as one PDF. The same plan gives the same bytes."""

import json
from functools import cache
from pathlib import Path
from typing import Any, Literal

from ramet.formats.plan import Plan
from ramet.papers import words
from ramet.papers.calendar_page import calendar_context
from ramet.papers.chart import FONTS
from ramet.papers.cover import cover_context
from ramet.papers.journey_page import journey_context
from ramet.papers.labels import labels_context
from ramet.papers.lay_out import lay_out_context
from ramet.papers.marks import KELP, project_mark, standalone
from ramet.papers.notes import notes_context
from ramet.papers.packing_list import packing_list_context
from ramet.papers.receiver_sheet import receiver_context
from ramet.papers.travel_papers import travel_context

Paper = Literal["a4", "us-letter"]
TEMPLATES = Path(__file__).parent / "templates"


def packet_pdf(plan: Plan, *, paper: Paper | None = None) -> bytes:
    """Return the whole packet as a PDF, on the paper that the sender's printer holds unless told."""
    data = json.dumps(packet_context(plan, paper or paper_of(plan)), ensure_ascii=False, sort_keys=True)
    pdf: bytes = compiler().compile(
        input=(TEMPLATES / "packet.typ").read_bytes(), format="pdf", sys_inputs={"packet": data}
    )
    return pdf


def paper_of(plan: Plan) -> Paper:
    """Return the usual paper where the sender lives: letter in the Americas, A4 elsewhere."""
    return "us-letter" if plan.shipment.sender_zone.startswith(("America/", "US/")) else "a4"


def packet_context(plan: Plan, paper: Paper) -> dict[str, Any]:
    """Return every text and drawing of the packet, as plain data for the templates."""
    made = plan.made_from
    return {
        "paper": paper,
        "title": f"{plan.shipment.name}: packet",
        "shipment": plan.shipment.name,
        "mark": standalone(project_mark(KELP), "ramet"),
        "made": f"ramet {made.ramet}, planned {words.day(made.today)} {made.today.year}, seed {plan.seed}, "
        f"ledger {made.ledger_version}, shipment {made.shipment_sha256[:8]}",
        "sender_zone": words.zone_name(plan.shipment.departs, plan.shipment.sender_zone),
        "cover": cover_context(plan),
        "notes": notes_context(plan),
        "lay_out": lay_out_context(plan) if plan.bags else None,
        "boxes": packing_list_context(plan),
        "journey": journey_context(plan),
        "calendar": calendar_context(plan),
        "labels": labels_context(plan),
        "receiver": receiver_context(plan),
        "travel": travel_context(plan),
    }


@cache
def compiler() -> Any:
    """Return the one compiler of papers, with our fonts alone."""
    import typst

    return typst.Compiler(root=str(TEMPLATES), font_paths=[str(FONTS)], ignore_system_fonts=True)
