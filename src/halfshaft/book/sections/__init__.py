"""The sections of the build book, a function a section: what it says, as blocks."""

from __future__ import annotations
