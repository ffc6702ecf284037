"""What every record of the model has in common: frozen, strict, described, with its references marked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

# Control characters cannot travel through a CSV cell or a workbook unharmed, so no text may hold one.
_ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]*$"

Text = Annotated[str, StringConstraints(strip_whitespace=True, max_length=500, pattern=_ONE_LINE)]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200, pattern=_ONE_LINE)]
Ref = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=24, pattern=r"^[A-Za-z0-9][A-Za-z0-9_+-]*$"),
]
# A colour as IEC 60757 letters: base, hyphen, tracer. GNYE (protective earth) is one code.
Colour = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^(GNYE|[A-Z]{2}(-[A-Z]{2})?)$")]

# Bounds wide enough for any car and narrow enough to catch metres typed as millimetres of another planet.
Millimetres = Annotated[float, Field(ge=-100_000, le=100_000)]
Length = Annotated[float, Field(gt=0, le=100_000)]
Allowance = Annotated[float, Field(ge=0, le=100_000)]
Mass = Annotated[float, Field(ge=0, le=100_000)]
Positive = Annotated[float, Field(gt=0, le=1e9)]
NotNegative = Annotated[float, Field(ge=0, le=1e9)]
Celsius = Annotated[float, Field(ge=-100, le=1_000)]
Count = Annotated[int, Field(ge=0, le=100_000)]


@dataclass(frozen=True, slots=True)
class RefersTo:
    """Marks a field whose value must be the key of a record in another table of the conversion."""

    table: str


@dataclass(frozen=True, slots=True)
class PinOrSplice:
    """Marks a field that names a pin (`device.connector.cavity`) or a splice (`S7`)."""


@dataclass(frozen=True, slots=True)
class DeviceConnector:
    """Marks a field that names a connector of a device (`device.connector`)."""


@dataclass(frozen=True, slots=True)
class LoadElement:
    """Marks a field that names something inside a device that draws current (`device.element`)."""


@dataclass(frozen=True, slots=True)
class DeviceElement:
    """Marks a field that names something inside a device (`device.element`), of one kind where that is given."""

    kind: str = ""


@dataclass(frozen=True, slots=True)
class OwnFile:
    """Marks a field that is too long for a cell and stands in a file of its own."""


def of(description: str, **limits: Any) -> Any:
    """A required field with the words that the file reference prints for it."""
    return Field(description=description, **limits)


def maybe(description: str, default: Any = None, **limits: Any) -> Any:
    """A field that may be left blank."""
    return Field(default=default, description=description, **limits)


class Record(BaseModel):
    """A frozen fact. Strict: text is never quietly turned into a number, unknown fields are refused."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)
