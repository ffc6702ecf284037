"""Wiring diagrams: what is on each sheet, and where."""
