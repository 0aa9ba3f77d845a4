"""Readings as likelihoods of what they should have been, one sort a module."""
