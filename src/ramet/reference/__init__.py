"""The sourced tables in `ramet/data`: loaded, checked, and merged with the user's own rows."""
