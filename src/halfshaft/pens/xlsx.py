"""Rows to a spreadsheet that opens where it should: header in bold and frozen, columns as wide as their words."""

from __future__ import annotations

import datetime
import io
from collections.abc import Sequence

Value = str | float | int | None


def xlsx(sheets: Sequence[tuple[str, Sequence[str], Sequence[Sequence[Value]]]]) -> bytes:
    """Sheets of name, header and rows; numbers as numbers, words as words, the same bytes for the same rows."""
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"created": datetime.datetime(2000, 1, 1)})
    bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    for name, header, rows in sheets:
        sheet = book.add_worksheet(name)
        sheet.freeze_panes(1, 0)
        widths = [len(word) for word in header]
        sheet.write_row(0, 0, header, bold)
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row):
                if value is None or value == "":
                    continue
                shown = f"{value:g}" if isinstance(value, float) else str(value)
                widths[column] = max(widths[column], len(shown))
                if isinstance(value, str):
                    sheet.write_string(number, column, value)
                else:
                    sheet.write_number(number, column, round(value, 6))
        for column, width in enumerate(widths):
            sheet.set_column(column, column, min(width, 60) + 2)
        if rows:
            sheet.autofilter(0, 0, len(rows), len(header) - 1)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
    book.close()
    return out.getvalue()
