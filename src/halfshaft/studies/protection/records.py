"""What the study of fuses and wires found."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.studies.protection.bands import Band
from halfshaft.studies.protection.bearing import Bearing


@dataclass(frozen=True, kw_only=True, slots=True)
class Opening:
    """Seconds between which a fuse opens at a current; `latest_s` is infinite where nothing makes it open."""

    current_a: float
    earliest_s: float
    latest_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class WireGuard:
    """One wire, or one high-voltage cable, behind its fuse.

    `most_a` is what a fault at its near end drives through it, cold and with the converter helping; `least_a` one at its far
    end, hot and from the battery alone. Of a wire on the way back these are faults inside the loads that come back by it.
    """

    ref: str
    is_high_voltage: bool
    is_return: bool
    short_only: bool
    section_mm2: float
    fuse: str
    rating_a: float
    most_a: float
    least_a: float
    opens: Opening | None
    bearing: Bearing

    @property
    def bears_s(self) -> float:
        """How long it bears the least fault."""
        return self.bearing.withstand_s(self.least_a)


@dataclass(frozen=True, kw_only=True, slots=True)
class Start:
    """The start of one load as its fuse feels it, everything else of the worst case being on."""

    load: str
    current_a: float
    seconds: float
    earliest_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FuseGuard:
    """One fuse. `factor` is what the hottest air round it leaves of its rating, `hot_a` what it carries for good then.

    `most_a` is a fault right behind it; `least_a` the smallest on what it guards, `least_at` where that is.
    """

    ref: str
    is_high_voltage: bool
    rating_a: float
    family: str
    ambient_c: float | None
    factor: float
    current_a: float
    hot_a: float
    case: str
    loads: tuple[str, ...]
    wires: tuple[str, ...]
    thinnest: str | None
    breaking_a: float | None
    most_a: float | None
    least_a: float | None
    least_at: str
    opens: Opening | None
    starts: tuple[Start, ...]
    band: Band | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Series:
    """Two fuses one behind the other: up to which fault `after` opens alone for sure, and from where `before` may open as well."""

    before: str
    after: str
    most_a: float
    not_from_a: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Protection:
    """Everything found."""

    fuses: tuple[FuseGuard, ...]
    wires: tuple[WireGuard, ...]
    series: tuple[Series, ...]
    in_ground: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def by_wire(self) -> dict[str, WireGuard]:
        """Wires and cables by their marks."""
        return {wire.ref: wire for wire in self.wires}
