"""Heating of wires and cables, and which section would do."""
