"""`python -m ramet.papers` prints a packet: plan.json on standard input, papers on standard output.

They come as one line of JSON that names each and its length, and then their bytes in that order.

It makes itself ready first and reads then: whoever starts it early need not wait for fonts and charts.
"""

import hashlib
import json
import sys

from ramet.formats.plan import Plan
from ramet.papers.chart import start_engine
from ramet.papers.opening_page import opening_page
from ramet.papers.packet import packet_pdf


def main() -> None:
    """Get ready, read a plan to its end, print."""
    start_engine()
    text = sys.stdin.buffer.read()
    plan = Plan.model_validate_json(text, strict=True)
    papers = {
        "packet.pdf": packet_pdf(plan),
        "opening.html": opening_page(plan, hashlib.sha256(text).hexdigest()).html,
    }
    head = {name: len(data) for name, data in papers.items()}
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + b"".join(papers.values()))


if __name__ == "__main__":
    main()
