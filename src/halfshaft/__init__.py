"""Halfshaft: from the description of one conversion to everything a workshop needs to build it."""

__version__ = "0.1.0"
