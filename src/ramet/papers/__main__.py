"""`python -m ramet.papers` prints a packet: plan.json on standard input, PDF on standard output.

It makes itself ready first and reads then: whoever starts it early need not wait for fonts and charts.
"""

import sys

from ramet.formats.plan import Plan
from ramet.papers.chart import start_engine
from ramet.papers.packet import packet_pdf


def main() -> None:
    """Get ready, read a plan to its end, print."""
    start_engine()
    plan = Plan.model_validate_json(sys.stdin.buffer.read(), strict=True)
    sys.stdout.buffer.write(packet_pdf(plan))


if __name__ == "__main__":
    main()
