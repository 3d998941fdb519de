"""What happened to a piece: entries, family, light."""
