"""Models of every public file. Reading is strict and returns all problems with their places."""
