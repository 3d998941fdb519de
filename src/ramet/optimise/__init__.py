"""Choosing, packing, scheduling and placing, in integers; knows rules, not biology."""
