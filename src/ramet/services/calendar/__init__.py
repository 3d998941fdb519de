"""The work of a shipment as dated tasks, worked back from the due time."""
