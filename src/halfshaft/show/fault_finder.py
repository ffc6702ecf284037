"""What stops when a fuse opens, and where to look, for a screen."""

from __future__ import annotations

import textwrap

from halfshaft.show.tables import SCREEN_CHARACTERS, entries
from halfshaft.studies.fault_finder.words import direct_words, further_words, fuses_words, moved_words, name_of, steps_words
from halfshaft.study import Study

KEY = (
    "Look at the fuses in the order printed; then whether the relay clicks, and if not at the fuses of what moves it, in brackets; then at plugs and "
    "wires from the last fuse on, and back to the ground point. A fuse that blew had a reason: find it before the next one goes in."
)


def fault_finder(study: Study) -> str:
    """Fuse by fuse, then load by load, as lists: their cells are too long for the columns of a screen."""
    found, conversion = study.fault_finder, study.conversion
    if found is None:
        return "No 12 V battery is named in [supply], so nothing is known of what feeds what."
    stops = [
        (
            f"{row.fuse}{f', {row.rating_a:g} A' if row.rating_a else ''}",
            (("stops at once", direct_words(conversion, found, row)), ("stops with it", further_words(conversion, row))),
        )
        for row in found.fuses
    ]
    looks = [
        (
            f"{name_of(conversion, row.load)} ({row.load})" if name_of(conversion, row.load) != row.load else row.load,
            (
                ("fuses", fuses_words(row)),
                ("relays and switches", ", ".join(moved_words(item) for item in row.contacts)),
                ("from the last fuse", steps_words(row.there)),
                ("back to ground", steps_words(row.back)),
            ),
        )
        for row in found.symptoms
    ]
    return "\n\n".join(
        (
            "THIS FUSE IS OPEN: WHAT STOPS",
            entries(stops),
            "THIS DOES NOT WORK: WHERE TO LOOK",
            entries(looks),
            textwrap.fill(KEY, SCREEN_CHARACTERS),
        )
    )
