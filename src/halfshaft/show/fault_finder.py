"""What stops when a fuse opens, and where to look, for a screen."""

from __future__ import annotations

from halfshaft.show.tables import table
from halfshaft.studies.fault_finder.words import direct_words, further_words, fuses_words, moved_words, name_of, steps_words
from halfshaft.study import Study


def fault_finder(study: Study) -> str:
    """Fuse by fuse, then load by load."""
    found, conversion = study.fault_finder, study.conversion
    if found is None:
        return "No 12 V battery is named in [supply], so nothing is known of what feeds what."
    stops = [
        (row.fuse, f"{row.rating_a:g}" if row.rating_a else "", direct_words(conversion, found, row), further_words(conversion, row))
        for row in found.fuses
    ]
    looks = [
        (
            row.load,
            name_of(conversion, row.load),
            fuses_words(row),
            ", ".join(moved_words(item) for item in row.contacts),
            steps_words(row.there),
            steps_words(row.back),
        )
        for row in found.symptoms
    ]
    first = table(("open", "A", "stops at once", "stops with it"), stops)
    second = table(("does not work", "name", "fuses, in order", "relays and switches", "from the last fuse", "back to ground"), looks)
    return f"{first}\n\n{second}"
