"""One module a family of pages: its routes, and the values that its templates show."""
