"""What a fault-finder's table says."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Stopped:
    """A load, coil or unit that no longer works, because others have stopped: coils, and the works of units."""

    ref: str
    because_of: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class FedBack:
    """A load that has lost its feed, and gets current by a way that is none of its own as long as some contacts are closed."""

    ref: str
    through: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class FuseStops:
    """What one fuse stops when it opens.

    `direct` lose their feed or ground; `indirect` lose it, or are no longer switched on, because something else has stopped;
    `opens` are contacts of the high-voltage side that drop out. `without_converter` stop only while the battery is alone.
    `cuts_converter`: the converter feeds nothing more. `fed_back` seem to work at times.
    """

    fuse: str
    rating_a: float | None
    direct: tuple[str, ...]
    indirect: tuple[Stopped, ...]
    opens: tuple[str, ...]
    without_converter: tuple[str, ...]
    cuts_converter: bool
    fed_back: tuple[FedBack, ...]

    def stops(self, ref: str) -> bool:
        """Whether something stops when this fuse opens, converter or not."""
        return ref in self.direct or ref in self.without_converter or any(item.ref == ref for item in self.indirect)


@dataclass(frozen=True, kw_only=True, slots=True)
class Moved:
    """A contact on the way to something: what moves it, and the fuses that stop what moves it, nearest to the battery first."""

    contact: str
    by: str
    fuses: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Symptom:
    """Something does not work: what to look at, in this order.

    `fuses` on its way from the battery; `other_feeds` are fuses of another way that feeds it, too, so that one of them alone
    stops nothing; `contacts` on the way there and back; `there` (from the last fuse that has a wire behind it) and `back`
    are wires, the pins that they end in, and fuses; `ground` is the ground point.
    """

    load: str
    fuses: tuple[str, ...]
    other_feeds: tuple[str, ...]
    contacts: tuple[Moved, ...]
    there: tuple[str, ...]
    back: tuple[str, ...]
    ground: str | None


@dataclass(frozen=True, kw_only=True, slots=True)
class FaultFinder:
    """Both ways of asking."""

    fuses: tuple[FuseStops, ...]
    symptoms: tuple[Symptom, ...]
