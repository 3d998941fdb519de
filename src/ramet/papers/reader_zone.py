"""Whose clock a time is written in: the sender's until the boxes arrive, the receiver's from then on."""

from datetime import datetime

from ramet.formats.plan import Plan


def zone_of(plan: Plan, moment: datetime) -> str:
    """Return the zone of the person who reads that moment off a wall clock."""
    head = plan.shipment
    return head.receiver_zone if moment >= head.arrives else head.sender_zone
