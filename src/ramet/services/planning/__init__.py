"""From stock and shipment to a plan, stage by stage; `plan.py` reads like the data flow in the design."""
