"""The tank as a drawing needs it."""

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import TankFrame, ZoneFrame
from ramet.reference.tables import Reference
from ramet.services.receiving.spots import zone_rects


def tank_frame(reference: Reference, tank: Tank) -> TankFrame:
    """Return sides, water account, flow, viewing sides and zones; zones only where the file has any."""
    zones = [(zone, rect) for zone, rect in zone_rects(reference, tank) if zone is not None]
    return TankFrame(
        length_mm=tank.length_mm,
        width_mm=tank.width_mm,
        depth_mm=tank.depth_mm,
        display_l=tank.display_l,
        sump_l=tank.sump_l,
        displaced_l=tank.displaced_l,
        flow_from=tank.flow_from,
        viewed_from=tank.viewed_from,
        horizon_d=round(reference.parameter("placement_horizon").band.typical),
        rock_heights_mm=tuple(tuple(round(one) for one in row) for row in tank.rock_heights_mm),
        zones=tuple(
            ZoneFrame(
                name=zone.name,
                from_mm=(round(left), round(front)),
                to_mm=(round(right), round(back)),
                top_mm=round(zone.top_mm),
                par_low=zone.par_low,
                par_high=zone.par_high,
                flow_cm_s=zone.flow_cm_s,
            )
            for zone, (left, front, right, back) in zones
        ),
    )
