"""Measures how well listings are read: `python -m tests.evaluation --help`."""
