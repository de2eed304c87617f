"""Priors and what the log says about now."""
