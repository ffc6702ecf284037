"""A hose that follows no route must say between which devices it lies, or its mass would be nowhere."""

from __future__ import annotations

from pathlib import Path

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import bad_references
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


def with_hose(**fields: str) -> Conversion:
    demo = read_folder(DEMO)
    hoses = tuple(hose.model_copy(update=fields) if hose.ref == "H13" else hose for hose in demo.hoses)
    return changed(demo, hoses=hoses)


def test_one_end_that_names_its_device_is_enough():
    assert bad_references(with_hose(from_part="bleed")) == []


def test_neither_end_is_a_fault_at_its_row():
    (fault,) = bad_references(with_hose(from_part="bleed", to_part="tank"))
    assert fault.path[0] == "hoses"
    assert fault.path[2] == "from_part"
    assert "H13 has not two route points" in fault.message
