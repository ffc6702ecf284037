"""The car from three sides, and what its refs mean."""

from __future__ import annotations

from halfshaft.book.blocks import bold, column, heading, picture, small, table
from halfshaft.book.frame import Pages
from halfshaft.drawings.box_sheets.sheet import box_number
from halfshaft.drawings.views.key import entries
from halfshaft.drawings.views.picture import book_picture
from halfshaft.drawings.views.sheet import car_number
from halfshaft.drawings.views.shown import shown
from halfshaft.study import Study


def car(study: Study, pages: Pages) -> None:
    """Side, plan and rear view to one scale; the refs in them."""
    conversion = study.conversion
    view = book_picture(conversion, study.routing, study.mass)
    pages.pictures["views.svg"] = view
    sheets = ", ".join([car_number(conversion), *(box_number(conversion, box) for box in conversion.boxes)])
    about = "The car with its batteries; the body is schematic. "
    about += (
        "Loads in kg: nobody in the car, before as weighed."
        if study.mass.height
        else "Loads in kg: nobody in the car; height of the centre of gravity not known."
    )
    blocks = [picture("views.svg", view.width_mm, about)]
    rows = [[bold(ref), name] for ref, name in entries(shown(conversion, study.routing))]
    if rows:
        blocks += [heading("Refs in the picture"), table([column("Ref"), column("What", "1fr")], rows, size=8.5)]
    blocks.append(
        small(
            f"Sheets with dimensions: {sheets} in the folder drawings. How a device stands is written down in words only, so its outline follows "
            "them as far as they tell. Shown are devices of 5 kg and more and all that carry high voltage."
        )
    )
    pages.add("The car", blocks, hv=bool(conversion.boxes or conversion.cables))
