"""Wiring diagrams as drawings: supply at the top, ground at the bottom, wires level and upright."""
