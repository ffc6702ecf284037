from __future__ import annotations

import pytest

from halfshaft.files.cells import CellError, read_cell, write_cell
from halfshaft.model.car import Removed
from halfshaft.model.parts import CableType
from halfshaft.model.wires import Run

MASS = Removed.model_fields["mass_kg"]
CLIPS = Run.model_fields["clips_between"]
SCREENED = CableType.model_fields["screened"]
MAY_CARRY = Run.model_fields["may_carry"]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("88", 88),
        ("88.5", 88.5),
        (".5", 0.5),
        ("5.", 5),
        ("+5", 5),
        ("-5", -5),
        ("\u22125", -5),
        ("1e3", 1000),
        ("1\u00a0234", 1234),
        ("-0", 0),
    ],
)
def test_ways_to_write_a_number(text: str, value: float) -> None:
    assert read_cell(text, MASS) == value
    assert str(read_cell("-0", MASS)) == "0.0"  # a minus on nothing would come back as another text


@pytest.mark.parametrize(("text", "value"), [("88,5", 88.5), (",5", 0.5), ("-5,", -5), ("88.5", 88.5), ("1,5e3", 1500)])
def test_decimal_commas_where_columns_are_not_separated_by_them(text: str, value: float) -> None:
    assert read_cell(text, MASS, decimal_comma=True) == value


@pytest.mark.parametrize(
    ("text", "decimal_comma", "says"),
    [
        ("88,5", False, "write a decimal point, or separate the columns with `;`"),
        ("1.234,5", True, "leave out the sign between thousands"),
        ("1,234,567", True, "leave out the sign between thousands"),
        ("12 mm", False, "leave out 'mm', the unit stands in the column's name"),
        ("12kg", False, "leave out 'kg'"),
        ("20\u00b0C", False, "leave out '\u00b0C'"),
        ("4,5 mm", True, "leave out 'mm'"),
        ("nan", False, "no number that can be measured"),
        ("Infinity", False, "no number that can be measured"),
        ("1e400", False, "no number that can be measured"),
        ("about 5", False, "stands where a number belongs"),
        ("5-6", False, "stands where a number belongs"),
        ("1_000", False, "stands where a number belongs"),
        ("1 234", False, "stands where a number belongs"),
    ],
)
def test_what_is_no_number_is_told_with_the_remedy(text: str, decimal_comma: bool, says: str) -> None:
    with pytest.raises(CellError) as caught:
        read_cell(text, MASS, decimal_comma=decimal_comma)
    assert str(caught.value).startswith(repr(text))
    assert says in str(caught.value)


def test_a_whole_number_may_be_written_with_decimals_but_not_have_any() -> None:
    assert read_cell("3.00", CLIPS) == 3
    assert isinstance(read_cell("3.00", CLIPS), int)
    with pytest.raises(CellError, match=r"'3\.5' is no whole number"):
        read_cell("3.5", CLIPS)


def test_yes_and_no() -> None:
    assert (read_cell("yes", SCREENED), read_cell("NO", SCREENED)) == (True, False)
    with pytest.raises(CellError, match="'1' stands where `yes` or `no` belongs"):
        read_cell("1", SCREENED)


def test_a_list_may_have_spaces_and_a_separator_at_its_end() -> None:
    assert read_cell("LV; sense ;", MAY_CARRY) == ("LV", "sense")


@pytest.mark.parametrize(
    ("value", "text"),
    [(None, ""), (True, "yes"), (False, "no"), (2.0, "2"), (0.1, "0.1"), (1e-7, "0.0000001"), (-0.0, "0"), (1e9, "1000000000"),
     (("LV", "HV"), "LV;HV"), ((), ""), ("=1+1", "=1+1")],
)  # fmt: skip
def test_one_way_to_write_each_value(value: object, text: str) -> None:
    assert write_cell(value) == text
