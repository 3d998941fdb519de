"""From the bench to what came of each piece."""
