"""What a newcomer gets wrong in the electrics is answered by one sentence that helps."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from halfshaft.errors import InputError
from halfshaft.files.faults import _none_of
from halfshaft.files.filled import blank_sheet, read_filled
from halfshaft.model.conversion import Supply
from halfshaft.model.references import bad_references
from halfshaft.study import Study
from support import changed


def test_twelve_thousand_volts_are_no_twelve():
    with pytest.raises(ValidationError):
        Supply(voltage_v=12000)


def test_choices_with_commas_in_them_are_told_apart():
    told = _none_of("500", "'', 'd.c. apart, 100 ohm/V' or 'joined, 500 ohm/V'")
    assert told == "'500' is none of d.c. apart, 100 ohm/V; joined, 500 ohm/V"


def test_a_motor_is_no_converter(tern):
    wrong = changed(tern, supply=tern.supply.model_copy(update={"converter": "FAN.motor"}))
    (bad,) = bad_references(wrong)
    assert bad.message == "'FAN.motor' is a load; a source belongs here"


def test_a_sheet_of_another_revision_is_told_once(tern, tmp_path):
    sheet = Study(tern).commissioning.readings
    path = tmp_path / "electrics.csv"
    path.write_bytes(blank_sheet("electrics", sheet[1:]))
    with pytest.raises(InputError) as caught:
        read_filled(path, {"electrics": (sheet[:1],)})
    assert len(caught.value.faults) == 1
    assert "more rows do not fit either" in caught.value.faults[0].message
