"""Conversions held in memory by the revision that they are, the latest asked for: to read one from its files takes a moment."""

from __future__ import annotations

import threading
from collections import OrderedDict

from halfshaft.model.conversion import Conversion

# Two for each of the people at work and some more. They share the rows in which they do not differ; one read from its files takes 3 MB.
MAX_HELD = 64


class Held:
    """A small shelf; what was not asked for the longest goes first. A revision never changes, so nothing on it is ever out of date."""

    def __init__(self) -> None:
        self._shelf: OrderedDict[str, Conversion] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, tree: str) -> Conversion | None:
        """The conversion with this content, if it is here."""
        with self._lock:
            found = self._shelf.get(tree)
            if found is not None:
                self._shelf.move_to_end(tree)
            return found

    def put(self, tree: str, conversion: Conversion) -> None:
        """Keep it here for a while."""
        with self._lock:
            self._shelf[tree] = conversion
            self._shelf.move_to_end(tree)
            while len(self._shelf) > MAX_HELD:
                self._shelf.popitem(last=False)

    def clear(self) -> None:
        """Put everything away."""
        with self._lock:
            self._shelf.clear()
