"""Edits that no other line tells of, each as a line of its own, so that nothing is lost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfshaft.studies.changes.records import Act, Change, Edit

# Where an edit of a table leads, where nothing else in the report says so; a field named beside its table has its own step.
STEPS: dict[tuple[str, str], Act] = {
    ("boxes", ""): "make",
    ("boxes.mounts", ""): "make",
    ("busbars", ""): "make",
    ("joints", ""): "make",
    ("devices", "part"): "fit",
    ("devices", "x_mm"): "fit",
    ("devices", "y_mm"): "fit",
    ("devices", "z_mm"): "fit",
    ("devices", "name"): "print",
    ("devices", "place"): "print",
    ("ground_points", ""): "fit",
    ("grommets", ""): "fit",
    ("spaces", "polygon_mm"): "fit",
    ("spaces", "mesh"): "fit",
    ("meshes", "corners"): "fit",
    ("spaces", "floor_z_mm"): "fit",
    ("spaces", "top_z_mm"): "fit",
    ("keep_outs", ""): "fit",
    ("nearby", "gap_mm"): "fit",
    ("runs", "covering"): "loom",
    ("runs", "clips_between"): "fit",
    ("tails", ""): "loom",
    ("splices", "terminal"): "loom",
    ("splices", "sleeve"): "loom",
    ("twist_groups", "lay_mm"): "loom",
    ("twist_groups", "twist_to_connector_mm"): "loom",
    ("looms", "board_width_mm"): "loom",
    ("looms", "board_height_mm"): "loom",
    ("looms", "covering"): "loom",
    ("wires", "from_pin"): "loom",
    ("wires", "to_pin"): "loom",
    ("wires", "loom"): "loom",
    ("wires", "twist_group"): "loom",
    ("wires", "screen"): "loom",
    ("wires", "screen_joined_to"): "loom",
    ("wires", "via"): "loom",
    ("wires", "meaning"): "print",
    ("wires", "system"): "print",
    ("cables", "from_connector"): "cut",
    ("cables", "to_connector"): "cut",
    ("cables", "from_end"): "cut",
    ("cables", "to_end"): "cut",
    ("cables", "twist_angle_deg"): "cut",
    ("cables", "meaning"): "print",
    ("cable_cores", ""): "cut",
    ("hoses", "from_part"): "fit",
    ("hoses", "from_point"): "fit",
    ("hoses", "to_point"): "fit",
    ("hoses", "to_part"): "fit",
    ("parts.connectors", ""): "loom",
    ("parts.connectors.cavities", "terminal"): "loom",
    ("parts.connectors.cavities", "sealed"): "loom",
    ("parts.inside", ""): "fit",
    ("parts.inside", "resistance_ohm"): "test",
    ("terminals", "strip_mm"): "cut",
    ("terminals", "contact_resistance_mohm"): "test",
    ("wire_types", "resistance_mohm_per_m"): "test",
    ("looms", "tested_with"): "test",
    ("supply", "battery"): "fit",
    ("parts", "length_mm"): "fit",
    ("parts", "width_mm"): "fit",
    ("parts", "height_mm"): "fit",
    ("systems", ""): "print",
}
# Words for people and for the books: they change no metal, whichever table they stand in.
ONLY_WORDS = (
    "note",
    "price_eur",
    "price_eur_per_m",
    "order of rows",
    "verified_by",
    "lead_time_days",
    "how_known",
    "surface",
    "reached_from",
)


def rest_changes(edits: Sequence[Edit], lines: Sequence[Change]) -> Iterator[Change]:
    """One line an edit; the step by the table above, else only to know."""
    told = {edit for line in lines for edit in line.edits}
    for edit in edits:
        if edit in told:
            continue
        came = edit.was is None and not edit.field
        gone = edit.now is None and not edit.field
        yield Change(
            act=_step(edit), kind=edit.table, ref=edit.key or edit.table, quantity=edit.field or "row", was=edit.was, now=edit.now,
            do="new" if came else "no longer there" if gone else "reads otherwise", edits=(edit,),
        )  # fmt: skip


def _step(edit: Edit) -> Act:
    if edit.field in ONLY_WORDS:
        return "know"
    return STEPS.get((edit.table, edit.field)) or STEPS.get((edit.table, "")) or "know"
