"""Shapes and rows to bytes. A pen decides nothing."""
