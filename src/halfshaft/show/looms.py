"""Looms, wires, boards, parts and the batch, for a screen."""

from __future__ import annotations

from halfshaft.show.tables import table
from halfshaft.study import Study


def looms(study: Study) -> str:
    """Every wire and the runs it lies in."""
    rows = [
        (
            loom.loom.ref,
            laid.wire.ref,
            laid.wire.from_pin,
            laid.wire.to_pin,
            laid.wire.colour,
            f"{laid.wire.section_mm2:g}",
            laid.length.cut_mm if laid.length else None,
            " ".join(step.run for step in laid.route.steps) if laid.route else "no way",
        )
        for loom in study.routing.looms
        for laid in loom.wires
    ]
    return table(("loom", "wire", "from", "to", "colour", "mm2", "cut mm", "runs"), rows)


def wires(study: Study) -> str:
    """Fuses, then drops."""
    fuses = table(
        ("fuse", "A", "carries A", "case", "wires"),
        [(f.ref, f"{f.rating_a:g}", f.current_a, f.case, " ".join(f.wires)) for f in study.wires.fuses],
    )
    drops = table(
        ("load", "V", "%", "% hot", "case", "wires"),
        [(d.load, f"{d.drop_v:.2f}", d.drop_percent, d.hot_drop_percent, d.case, " ".join(d.wires)) for d in study.wires.drops],
    )
    return f"{fuses}\n\n{drops}"


def boards(study: Study) -> str:
    """How each board is laid."""
    rows = [
        (
            ref,
            f"{board.size_mm[0]:.0f} x {board.size_mm[1]:.0f}",
            "yes" if board.fits else "no",
            len(board.holders),
            len(board.blocked),
            len(board.out_of_reach),
            len(board.pegs),
            board.method,
        )
        for ref, board in study.boards.items()
    ]
    return table(("board", "sheet mm", "fits", "holders", "blocked", "out of reach", "pegs", "laid by"), rows)


def parts(study: Study) -> str:
    """What has to be bought."""
    rows = [
        (line.group, line.code, line.name, f"{line.quantity:g}" if not line.unit else f"{line.quantity:.1f}", line.unit, line.price_eur)
        for line in study.parts_list
    ]
    return table(("group", "code", "what", "quantity", "", "EUR"), rows)


def batch(study: Study) -> str:
    """The cut list, what it is cut from, and what looms cost."""
    lines = table(
        ("mm2", "class", "colour", "cut mm", "pieces", "wire", "loom", "strip", "terminal", "seal", "strip", "terminal", "seal", "label"),
        [
            (
                f"{line.section_mm2:g}", line.insulation_class, line.colour, line.cut_mm, line.count, line.wire, line.loom, line.start.strip_mm, line.start.terminal,
                line.start.seal, line.end.strip_mm, line.end.terminal, line.end.seal, line.start.label,
            )
            for line in study.batch.lines
        ],
    )  # fmt: skip
    cuts = [(item, cut) for item in study.batch.materials if item.plan for cut in (*item.plan.cuts, *item.plan.missing)]
    plans = table(
        ("what", "take", "of m", "stock", "cut each into", "left mm", "", "above least %"),
        [
            (
                item.need.material.full_code,
                cut.times,
                f"{cut.stock.length_mm / 1000:g}",
                cut.stock.ref if item.plan and cut in item.plan.cuts else "MISSING",
                ", ".join(f"{times} x {length}" for length, times in cut.pieces),
                cut.left_mm,
                "keep" if cut.is_kept else "",
                item.plan.gap_percent if item.plan else None,
            )
            for item, cut in cuts
        ],
    )
    costs = table(
        ("loom", "wires", "wire m", "kg", "terminals", "seals", "plugs", "EUR", "no price"),
        [
            (
                cost.loom, cost.wires, cost.wire_m, f"{cost.mass_kg:.3f}", cost.terminals, cost.seals, cost.plugs, f"{cost.price_eur:.2f}", len(cost.unpriced),
            )
            for cost in study.loom_costs
        ],
    )  # fmt: skip
    return f"kits: {study.batch.kits}\n\n{lines}\n\n{plans}\n\n{costs}"
