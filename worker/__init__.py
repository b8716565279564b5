"""Runs analyses: one child process per file, with limits; many files at once."""
