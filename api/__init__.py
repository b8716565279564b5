"""Faces the outside: the command line."""
