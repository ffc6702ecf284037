"""What is bought, longest lead time first, and what is left over: parts by the piece, and new material for what is cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.studies.changes.cut import cut_new
from halfshaft.studies.changes.records import Change, State
from halfshaft.studies.materials import materials, several
from halfshaft.studies.parts_list import PartLine

COUNTED = ("units", "battery", "grommets")
# Each kind of piece with the group of material that it is cut from.
CUT = {"wire": "wire", "cable": "high-voltage cable", "hose": "hose", "tube": "covering"}


def purchases(before: State, after: State, lines: Sequence[Change]) -> Iterator[Change]:
    """What is bought, longest lead time first; then what comes back."""
    found = [*_counted(before, after), *_material(after, lines), *_ends(after, lines)]
    yield from sorted(found, key=lambda line: (line.act, -_days(after.conversion, line.ref), line.kind, line.ref))


def _days(conversion: Conversion, code: str) -> int:
    part = conversion.part.get(code)
    return (part.lead_time_days or 0) if part is not None else 0


def _counted(before: State, after: State) -> Iterator[Change]:
    was, now = ({(line.group, line.code, line.name): line for line in state.parts if line.group in COUNTED} for state in (before, after))
    for key in dict.fromkeys([*was, *now]):
        old, new = was.get(key), now.get(key)
        more = (new.quantity if new else 0) - (old.quantity if old else 0)
        if not more:
            continue
        line = new or old
        assert line is not None
        each = _each(line)
        days = _days(after.conversion, line.code)
        do = f"buy {more:g}{f', {days} days' if days else ''}" if more > 0 else f"send back {-more:g}, or put on the shelf"
        yield Change(
            act="buy" if more > 0 else "unmake", kind="part", ref=line.code, quantity=line.name, was=old.quantity if old else None,
            now=new.quantity if new else None, do=do, why=f"for {line.used_for}" if line.used_for and more > 0 else "", price_eur=None if each is None else more * each,
        )  # fmt: skip


def _each(line: PartLine) -> float | None:
    return None if line.price_eur is None or not line.quantity else line.price_eur / line.quantity


def _material(after: State, lines: Sequence[Change]) -> Iterator[Change]:
    """By the metre, for pieces that are cut new: the old pieces are not counted against them."""
    for kind, group in CUT.items():
        wanted = cut_new(lines, kind)
        for item in materials(after.conversion, after.routing):
            pieces = [piece for piece in item.pieces if item.group == group and piece.ref in wanted]
            if not pieces:
                continue
            metres = sum(piece.length_mm for piece in pieces) / 1000
            yield Change(
                act="buy", kind="material", ref=item.full_code, quantity=item.name, was=None, now=round(metres, 2), unit="m",
                do="have ready, or buy", why=f"for {several([piece.ref for piece in pieces])}",
                price_eur=None if item.price_eur_per_m is None else metres * item.price_eur_per_m,
            )  # fmt: skip


def _ends(after: State, lines: Sequence[Change]) -> Iterator[Change]:
    """Terminals and seals: two ends of a new wire, one of a wire that is cut down."""
    new, ends = cut_new(lines, "wire"), Counter[str]()
    shorter = {line.ref for line in lines if line.act == "cut" and line.kind == "wire"} - new
    prices = {item.ref: item.price_eur for item in after.conversion.terminals}
    prices |= {item.ref: item.price_eur for item in after.conversion.seals}
    for end in after.wires.ends:
        if end.wire in new or end.wire in shorter:
            shorter.discard(end.wire)
            ends[end.terminal.ref] += 1
            if end.seal is not None:
                ends[end.seal.ref] += 1
    for ref, count in sorted(ends.items()):
        price = prices.get(ref)
        yield Change(
            act="buy", kind="wire end", ref=ref, quantity="terminals or seals", was=None, now=count, do="have ready, or buy", why="for wires cut again",
            price_eur=None if price is None else count * price,
        )  # fmt: skip
