"""What the study of the 12 V side found."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.studies.network.records import FailureKind

# What merely leads current somewhere.
CONDUCTORS = frozenset({"wire", "fuse", "contact", "link", "strap", "ground"})


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadVolts:
    """What one load has in one case, plus to minus at its own pins.

    `mean_a` with its share of the time, `all_a` while all that the case has on runs at once; `start_v` while moreover the load
    of the case whose start adds most is starting. None where nothing feeds it or that moment has no answer.
    """

    load: str
    duty: float
    steady_a: float
    mean_a: float | None
    all_a: float | None
    mean_v: float | None
    all_v: float | None
    start_v: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Carried:
    """A wire, fuse, contact, link, strap or ground point in one case.

    `loss_w` and `drop_v` while all runs at once; of a wire `contacts_w` is the part of it that its terminals turn into heat.
    """

    ref: str
    kind: str
    ohm: float
    mean_a: float
    all_a: float
    drop_v: float
    loss_w: float
    contacts_w: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Shares:
    """Who feeds the 12 V side at one moment, and at how many volts at the battery's posts."""

    converter_a: float
    battery_a: float
    battery_v: float

    @property
    def total_a(self) -> float:
        """Both together."""
        return self.converter_a + self.battery_a


@dataclass(frozen=True, kw_only=True, slots=True)
class Trouble:
    """A moment of a case for which the network has no answer: what is at fault, loads and wires by their marks."""

    moment: str
    kind: FailureKind
    about: tuple[str, ...]
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class CutLoad:
    """A load that is on in a case, and the open contacts that keep it from its feed or its ground."""

    load: str
    contacts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Leak:
    """Something that draws, or is fed, in a case in which it is not on.

    `unlisted` sleep current of a unit that is live, but not in the case; `fed back` a unit whose own feed is open, with the
    volts at its pin; `through` resistors, diodes and coils that a current flows through though no load is behind them.
    """

    kind: str
    ref: str
    pin: str
    current_a: float
    volt: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseResult:
    """One case. `asked` amperes are what loads.csv and case_loads.csv add up to; `mean`, `all` and `start` are solved.

    `limit_a` is the most that the converter gives, None where it does not feed. `starting` is the load that starts in `start`.
    `converter_w` is what the converter takes from the pack on the average. Hours are those that the battery lasts by its mean
    share: down to half, and until its usable share is gone; None where it gives nothing or its capacity is not known.
    `stands` says that everything in the case that can sleep does.
    """

    case: str
    asked_mean_a: float
    asked_all_a: float
    limit_a: float | None
    mean: Shares | None
    all: Shares | None
    start: Shares | None
    starting: str | None
    converter_w: float | None
    half_h: float | None
    usable_h: float | None
    stands: bool
    closed: tuple[str, ...]
    driven: tuple[str, ...]
    loads: tuple[LoadVolts, ...]
    carried: tuple[Carried, ...]
    cut: tuple[CutLoad, ...]
    leaks: tuple[Leak, ...]
    troubles: tuple[Trouble, ...]

    @property
    def by_load(self) -> dict[str, LoadVolts]:
        """Loads by their marks."""
        return {item.load: item for item in self.loads}

    @property
    def lasts(self) -> str:
        """How long the battery lasts, in words: days to half of a parked car, else the time to the end of its usable share."""
        if self.stands and self.half_h is not None:
            return f"{self.half_h / 24:.0f} days to half"
        if self.usable_h is None:
            return ""
        return f"{60 * self.usable_h:.0f} min" if self.usable_h < 10 else f"{self.usable_h:.0f} h"

    @property
    def margin_a(self) -> float | None:
        """What the converter has left over on the average, for charging the battery among other things."""
        return None if self.limit_a is None or self.mean is None else self.limit_a - self.mean.total_a


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactUse:
    """A contact with the most that it carries at once in any case, and the most as a load behind it starts."""

    ref: str
    moved_by: str
    is_relay: bool
    rating_a: float | None
    makes_a: float | None
    current_a: float
    case: str
    start_a: float
    starting: str | None


@dataclass(frozen=True, kw_only=True, slots=True)
class PullIn:
    """A coil: amperes that it takes at the volts it has, where it has least of them, and what takes up its peak.

    `volt` and `case` are None where nothing feeds it in any case. `own_contact` is a contact that it moves itself and without
    which nothing feeds it.
    """

    coil: str
    current_a: float | None
    volt: float | None
    case: str | None
    operate_min_v: float | None
    suppressed_by: str
    contacts: tuple[str, ...]
    own_contact: str | None


@dataclass(frozen=True, kw_only=True, slots=True)
class GroundSum:
    """What comes together at one ground point, in the case in which that is most; amperes by wire."""

    ref: str
    rings: int
    rings_max: int
    current_a: float
    case: str
    wires: dict[str, float]
    limit_a: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Return:
    """How one load's current comes back to the battery's minus: wires, links, ground points and straps in their order.

    None where there is no way. `lost_with` are straps that left with something removed and without which there is none.
    """

    load: str
    way: tuple[str, ...] | None
    lost_with: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class StrayCurrent:
    """Metal that is no conductor, with the most amperes that it carries in any case."""

    strap: str
    current_a: float
    case: str


@dataclass(frozen=True, kw_only=True, slots=True)
class LowVoltage:
    """Everything about the 12 V side."""

    cases: tuple[CaseResult, ...]
    contacts: tuple[ContactUse, ...]
    pull_ins: tuple[PullIn, ...]
    grounds: tuple[GroundSum, ...]
    returns: tuple[Return, ...]
    strays: tuple[StrayCurrent, ...]
    capacity_ah: float | None

    @property
    def by_case(self) -> dict[str, CaseResult]:
        """Cases by name."""
        return {result.case: result for result in self.cases}

    @property
    def most_lost(self) -> tuple[tuple[str, Carried], ...]:
        """Each wire, fuse, contact, link, strap and ground in the case in which it takes most volts, and that case; most first.

        What has a load of its own behind it, such as a resistor or a coil, is none of them.
        """
        worst: dict[str, tuple[str, Carried]] = {}
        for case in self.cases:
            for item in case.carried:
                if item.kind in CONDUCTORS and (item.ref not in worst or abs(item.drop_v) > abs(worst[item.ref][1].drop_v) + 1e-9):
                    worst[item.ref] = (case.case, item)
        return tuple(sorted(worst.values(), key=lambda found: (-round(abs(found[1].drop_v), 6), found[1].ref)))
