"""Crossload: one pool of location-sound kit, shared by several shooting units."""

__version__ = "0.1.0"
