"""Fuses against what hangs on them, for a screen."""

from __future__ import annotations

from halfshaft.model.finding import HV_CAUTION
from halfshaft.show.tables import table
from halfshaft.studies.looms.continuity import natural
from halfshaft.studies.protection.records import Protection
from halfshaft.studies.protection.words import kind_words, opening_words, seconds, start_words
from halfshaft.study import Study


def protection(study: Study) -> str:
    """Fuses, wires behind them, and fuses in series."""
    found = study.protection
    if not found.fuses:
        return "no fuse is in the way of a load or of the pack"
    parts = (_fuses(study, found), _wires(found), _series(found), HV_CAUTION if any(fuse.is_high_voltage for fuse in found.fuses) else "")
    return "\n\n".join(part for part in parts if part)


def _fuses(study: Study, found: Protection) -> str:
    rows = []
    for fuse in sorted(found.fuses, key=lambda item: (item.is_high_voltage, natural(item.ref))):
        rows.append(
            (
                fuse.ref, kind_words(fuse), fuse.current_a, study.conversion.shop.fuse_load_share_max * fuse.factor * fuse.rating_a, fuse.thinnest,
                None if fuse.most_a is None else f"{fuse.most_a:.0f}", None if fuse.least_a is None else f"{fuse.least_a:.0f}", fuse.least_at,
                opening_words(fuse.opens), start_words(fuse),
            )
        )  # fmt: skip
    header = ("fuse", "", "carries A", "may carry hot", "thinnest", "short A, behind it", "least A", "at", "opens after", "hardest start")
    return table(header, rows)


def _wires(found: Protection) -> str:
    rows = [
        (
            wire.ref, f"{wire.section_mm2:g}", wire.fuse, f"{wire.rating_a:g}", wire.bearing.for_good_a(), f"{wire.most_a:.0f}", f"{wire.least_a:.0f}",
            opening_words(wire.opens), seconds(wire.bears_s), "way back" if wire.is_return else "",
        )
        for wire in sorted(found.wires, key=lambda item: (item.is_high_voltage, natural(item.ref)))
    ]  # fmt: skip
    header = ("wire", "mm²", "fuse", "A", "bears for good A", "short A, near end", "far end", "opens after", "bears that for", "")
    return table(header, rows) if rows else ""


def _series(found: Protection) -> str:
    rows = [
        (item.before, item.after, f"{item.most_a:.0f}", "at all of them" if item.not_from_a is None else f"below {item.not_from_a:.0f} A")
        for item in found.series
    ]
    return table(("fuse ahead", "fuse behind", "shorts up to A", "the one behind opens alone for sure"), rows) if rows else ""
