"""The car from three sides, and what its refs mean."""

from __future__ import annotations

from halfshaft.book.blocks import Block, bold, column, heading, number, picture, small, table
from halfshaft.book.frame import Pages
from halfshaft.drawings.box_sheets.sheet import box_number
from halfshaft.drawings.views.key import entries
from halfshaft.drawings.views.picture import book_picture
from halfshaft.drawings.views.sheet import car_number
from halfshaft.drawings.views.shown import shown
from halfshaft.model.finding import BATTERY_PLACE_CAUTION
from halfshaft.studies.arrangement.space_facts import COUNTS, LITRES
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
    blocks += spaces(study)
    pages.add("The car", blocks, hv=bool(conversion.boxes or conversion.cables))


def spaces(study: Study) -> list[Block]:
    """Where boxes may stand, what is free there, and how many modules that takes; nothing where no space is described."""
    facts = study.space_facts
    if not facts:
        return []
    columns = [
        column("Ref"), column("Name", "1fr"), column("Loaded from"), column("Floor / lid, mm", "auto", "right"),
        column("Usable, l", "auto", "right"), column("Largest free block, mm", "auto", "right"), column("Modules at most"),
    ]  # fmt: skip
    rows = [
        [
            bold(fact.ref),
            fact.name,
            fact.loaded_from,
            f"{number(fact.floor_z_mm)} / {number(fact.top_z_mm)}",
            number(fact.usable_l, 1),
            " × ".join(number(side) for side in fact.largest.size) if fact.largest else "none",
            fact.most_words,
        ]
        for fact in facts
    ]
    steps = sorted({fact.step_mm for fact in facts if fact.step_mm is not None})
    cut = (
        [f"Free blocks of slanted plans and meshes are cut to {' or '.join(f'{step:g}' for step in steps)} mm, on the safe side."]
        if steps
        else []
    )
    notes = [" ".join([LITRES, *cut, COUNTS]), *(f"{fact.ref}: {fact.refused}" for fact in facts if fact.refused), BATTERY_PLACE_CAUTION]
    return [heading("Spaces"), table(columns, rows, size=8.5), *map(small, notes)]
