"""The shipment that a page is about, by the key in its address."""

from typing import Annotated

from fastapi import Depends, HTTPException

from ramet.formats.plan import Plan
from ramet.services.shelf import ShelfPlace, place_of
from ramet.web.desk import AtDesk

NO_PLAN = "This shipment has no plan yet. Plan it first; the page for this comes with the plan."


def shipment_at(key: str, desk: AtDesk) -> ShelfPlace:
    """Return the shipment on the shelf. Answers “no such page” when there is none."""
    place = place_of(desk.files, key)
    if place is None:
        raise HTTPException(404)
    return place


AtShipment = Annotated[ShelfPlace, Depends(shipment_at)]


def planned_shipment_at(place: AtShipment) -> ShelfPlace:
    """Return a shipment that has a plan. Answers with the way on when it has none."""
    if place.plan is None:
        raise HTTPException(404, NO_PLAN)
    return place


AtPlanned = Annotated[ShelfPlace, Depends(planned_shipment_at)]


def plan_of(place: ShelfPlace) -> Plan:
    """Return the plan of a shipment that has one."""
    if place.plan is None:
        raise HTTPException(404, NO_PLAN)
    return place.plan
