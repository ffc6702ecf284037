"""Every finding with value, limit and basis."""

from __future__ import annotations

from halfshaft.book.blocks import (
    Block,
    Cell,
    caution,
    column,
    number,
    para,
    table,
)
from halfshaft.book.frame import Pages
from halfshaft.model.finding import Finding
from halfshaft.study import Study


def findings(study: Study, pages: Pages) -> None:
    """Every finding with value, limit and basis."""
    words = {"stop": "Stop", "fix": "Put right", "note": "Know"}
    rows: list[list[Cell]] = []
    for index, finding in enumerate(study.findings, start=1):
        rows.append(
            [
                {"level": finding.level, "text": f"{index}"},
                words[finding.level],
                finding.text,
                _value(finding.value, finding),
                _value(finding.limit, finding),
                finding.unit,
                str(finding.basis),
            ]
        )
    columns = [
        column("No", 11.0),
        column("What to do", 14.0),
        column("Finding", "1fr"),
        column("Found", "auto", "right"),
        column("Limit", "auto", "right"),
        column("Unit", 13.0),
        column("Basis", 38.0),
    ]
    blocks: list[Block] = [
        para(
            "What the program found when it compared the design with its limits. A filled octagon stops the work, a half-filled lozenge wants putting right, an open circle is worth knowing."
        )
    ]
    blocks += [caution("WARNING", text) for text in dict.fromkeys(finding.caution for finding in study.findings) if text]
    blocks.append(table(columns, rows, size=8.5, group=1) if rows else para("Nothing was found."))
    pages.add("Findings", blocks)


def _value(value: float | None, finding: Finding) -> str:
    if value is None:
        return ""
    whole = finding.unit in ("wires", "ways", "pieces", "sheets", "rings") or value == round(value)
    return number(value, 0 if whole else 2 if abs(value) < 10 else 1)
