"""Least-cost winter rations for cattle and sheep from home-grown forage and bought feed."""

__version__ = "0.1.0"
