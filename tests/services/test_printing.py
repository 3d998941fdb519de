"""The printing process prints what the papers print, tells why it can't, and never outlives its user."""

import hashlib

import pytest
from sample_plan import sample_plan

from ramet.domain.errors import BrokenEnvironment
from ramet.formats.plan_text import plan_text
from ramet.papers.opening_page import opening_page
from ramet.papers.packet import packet_pdf
from ramet.services.printing import Printer


def test_the_process_prints_the_same_bytes_as_the_papers() -> None:
    plan = sample_plan()
    with Printer() as printer:
        papers = printer.papers(plan)
    assert papers["packet.pdf"] == packet_pdf(plan)
    sha256 = hashlib.sha256(plan_text(plan).encode()).hexdigest()
    assert papers["opening.html"] == opening_page(plan, sha256).html


def test_a_printer_that_is_not_used_ends_with_its_block() -> None:
    with Printer() as printer:
        process = printer._process
    assert process.poll() is not None


def test_a_printer_that_died_says_so() -> None:
    with Printer() as printer:
        printer._process.kill()
        with pytest.raises(BrokenEnvironment, match="could not be printed"):
            printer.papers(sample_plan())
