"""Verifies a plan from its file alone, with code that the planner does not share."""
