"""Tests and the evaluation; a package so that no other package named tests stands before it."""
