"""The printing process prints what the papers print, tells why it can't, and never outlives its user."""

import pytest
from sample_plan import sample_plan

from ramet.domain.errors import BrokenEnvironment
from ramet.papers.packet import packet_pdf
from ramet.services.printing import Printer


def test_the_process_prints_the_same_bytes_as_the_papers() -> None:
    plan = sample_plan()
    with Printer() as printer:
        assert printer.packet_pdf(plan) == packet_pdf(plan)


def test_a_printer_that_is_not_used_ends_with_its_block() -> None:
    with Printer() as printer:
        process = printer._process
    assert process.poll() is not None


def test_a_printer_that_died_says_so() -> None:
    with Printer() as printer:
        printer._process.kill()
        with pytest.raises(BrokenEnvironment, match="could not be printed"):
            printer.packet_pdf(sample_plan())
