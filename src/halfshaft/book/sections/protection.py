"""Fuses: what each guards, what a short drives through it and when it opens; and the sheets of time against current."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, column, number, picture, small, table
from halfshaft.book.frame import DEFER, Pages
from halfshaft.drawings.time_current import PER_SHEET, time_current_sheets, with_graph
from halfshaft.model.finding import HV_CAUTION
from halfshaft.standards import fuse_colours
from halfshaft.studies.looms.continuity import natural
from halfshaft.studies.protection.records import FuseGuard
from halfshaft.studies.protection.words import opening_words, start_words
from halfshaft.study import Study

# A space at which no line is broken.
HELD = "\u00a0"
# So many fuses behind another are named one by one.
MANY = 4
READ = (
    "A good pair: the load's dot below the band, the wire's line above it, and both shorts where the band lies under that line. Between the limits of a "
    "standard the band has steps, as nothing is promised there. The wire begins as hot as its class, its neighbours warm: up to 5 s nothing leaves the "
    "copper (IEC 60949), beyond that to 50 K above its class. "
)
SHORTS_ONLY = "High-voltage fuses end shorts; where a cable's line lies below the band, overload is for the pack's monitor and the units to keep off. "


def fuse_blocks(study: Study) -> list[Block]:
    """The table of fuses with how it is to be read; nothing without fuses."""
    fuses = in_order(study)
    if not fuses:
        return []
    share = study.conversion.shop.fuse_load_share_max
    columns = [
        column("Fuse", 19.0),
        column("A", "auto", "right"),
        column("Body", 18.0),
        column("Feeds", "1fr"),
        column("Thinnest", 14.0),
        column("Carries / may, A", 17.0, "right"),
        column("Hardest start", 16.0),
        column("Shorts, A", 17.5, "right"),
        column("Opens after", 20.0),
    ]
    parts: list[Block] = [table(columns, [_row(study, fuse, share) for fuse in fuses], size=8)]
    parts.append(
        small(
            f"Carries: all loads that the worst case names at once, steady. May: {100 * share:.0f} % (setting of this shop) of what the hottest air of its zone leaves of the rating. Hardest start: the load behind it that starts hardest, on top of all that. Thinnest: the thinnest wire or cable that it guards. Shorts: most / least; most, right behind it with cold copper, the battery just charged and the converter beside it; least, at the far end of a wire to the body or inside a load, with copper as hot as its insulation stands and the battery at rest, alone. Opens after: earliest to latest at that least current. Blade and strip fuses by the limits of their standard (mostly from memory, to be confirmed), others by their catalogue points."
        )
    )
    pairs = [item for item in study.protection.series if item.not_from_a is not None]
    if pairs:
        words = "; ".join(f"{item.before} and {item.after} from {number(item.not_from_a or 0.0)} A" for item in pairs)
        parts.append(
            small(
                f"One behind the other, and not sure to open one by one: {words}. All other fuses in series of which the times are known open the nearest to the short first, at every short that there can be."
            )
        )
    if any(fuse.is_high_voltage for fuse in fuses):
        parts.append(small(HV_CAUTION))
    return parts


def in_order(study: Study) -> list[FuseGuard]:
    """12 V first, each by its mark."""
    return sorted(study.protection.fuses, key=lambda item: (item.is_high_voltage, natural(item.ref)))


def _row(study: Study, fuse: FuseGuard, share: float) -> list[Cell]:
    colour = fuse_colours().get((fuse.family, fuse.rating_a), "")
    may_a = share * fuse.factor * fuse.rating_a
    carries = f"{number(fuse.current_a, 1)} / {number(may_a, 1)}"
    shorts = " / ".join(number(current_a) for current_a in (fuse.most_a, fuse.least_a) if current_a is not None)
    return [
        bold(fuse.ref), f"{fuse.rating_a:g}", fuse.family + (f", {colour}" if colour else ""), _feeds(study, fuse),
        f"{fuse.thinnest} {_section(study, fuse.thinnest)}{HELD}mm²" if fuse.thinnest else "",
        bold(carries) if fuse.rating_a and fuse.hot_a > may_a else carries, _held(start_words(fuse)), shorts, _held(opening_words(fuse.opens)),
    ]  # fmt: skip


def _section(study: Study, ref: str) -> str:
    guard = study.protection.by_wire.get(ref)
    return f"{study.conversion.wire[ref].section_mm2:g}" if guard is None else f"{guard.section_mm2:g}"


def _feeds(study: Study, fuse: FuseGuard) -> str:
    """Its loads, and the fuses behind it; of many the devices that hold them."""
    conversion = study.conversion
    if fuse.is_high_voltage:
        return "; ".join(conversion.device[ref].name for ref in fuse.loads)
    behind = [item.after for item in study.protection.series if item.before == fuse.ref]
    if len(behind) > MANY:
        behind = [f"fuses of {device}" for device in dict.fromkeys(ref.partition(".")[0] for ref in behind)]
    return "; ".join([*(conversion.load[ref].name for ref in fuse.loads), *behind])


def _held(words: str) -> str:
    """No break between a figure and its unit."""
    for unit in ("ms", "s", "min", "h", "A"):
        words = words.replace(f" {unit}", f"{HELD}{unit}")
    return words


def time_current(study: Study, pages: Pages) -> None:
    """A graph for each fuse that guards a wire and whose times are known."""
    by_wire = study.protection.by_wire
    shown = with_graph([(fuse, by_wire.get(fuse.thinnest)) for fuse in in_order(study) if fuse.thinnest])
    sheets = time_current_sheets(shown)
    for index, drawing in enumerate(sheets):
        file = f"time-current-{index + 1}"
        pages.pictures[file] = drawing
        title = "Fuses: time and current" + (f", {index + 1} of {len(sheets)}" if len(sheets) > 1 else "")
        has_high = any(fuse.is_high_voltage for fuse, _ in shown[index * PER_SHEET : (index + 1) * PER_SHEET])
        words = (READ if index == 0 else "") + (f"{SHORTS_ONLY}{HV_CAUTION} " if has_high else "") + DEFER
        pages.add(title, [picture(file, drawing.width_mm, words)])
