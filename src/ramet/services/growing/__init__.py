"""How pieces grow, and what is ready when."""
