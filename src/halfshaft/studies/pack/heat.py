"""What bars and bolted joints carry, and the heat that they make of it."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.pack import Joint
from halfshaft.studies.pack.bars import Bar
from halfshaft.studies.pack.strings import share_at
from halfshaft.studies.pack.study import MICRO, Pack

# Amperes of the micro-ohm meter that joints are looked at with, nothing else switched on (common practice).
TEST_A = 100.0


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadedBar:
    """A bar with what it carries for good, per square millimetre too, and what it wastes for good and at peak power."""

    bar: Bar
    resistance_uohm: float | None
    continuous_a: float | None
    density_a_per_mm2: float | None
    continuous_w: float | None
    peak_w: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadedJoint:
    """A joint with its heat at the most that it may have of micro-ohms, and the millivolts that this gives at the test current."""

    joint: Joint
    continuous_w: float | None
    peak_w: float | None
    test_mv: float


def load_joints(conversion: Conversion, pack: Pack) -> tuple[LoadedJoint, ...]:
    """Every joint, with the share of the pack's current that what ends there carries."""
    share = share_at(pack.links.values(), pack.link_share)
    return tuple(_loaded_joint(pack, joint, share.get(joint.stud, 0.0)) for joint in conversion.joints)


def _loaded_joint(pack: Pack, joint: Joint, share: float) -> LoadedJoint:
    ohm = joint.allowed_uohm * MICRO
    continuous_a, peak_a = (None if draw is None else share * draw.current_a for draw in (pack.continuous, pack.peak))
    return LoadedJoint(joint=joint, continuous_w=heat_w(continuous_a, ohm), peak_w=heat_w(peak_a, ohm), test_mv=1000 * TEST_A * ohm)


def load_bars(pack: Pack) -> tuple[LoadedBar, ...]:
    """Every bar at the pack's continuous and peak power."""
    return tuple(_loaded_bar(pack, bar) for bar in pack.bars)


def _loaded_bar(pack: Pack, bar: Bar) -> LoadedBar:
    share = pack.link_share.get(bar.ref, 0.0)
    ohm = bar.resistance_ohm
    continuous_a, peak_a = (None if draw is None else share * draw.current_a for draw in (pack.continuous, pack.peak))
    return LoadedBar(
        bar=bar,
        resistance_uohm=None if ohm is None else 1e6 * ohm,
        continuous_a=continuous_a,
        density_a_per_mm2=None if continuous_a is None else continuous_a / bar.section_mm2,
        continuous_w=heat_w(continuous_a, ohm),
        peak_w=heat_w(peak_a, ohm),
    )


def heat_w(amperes: float | None, ohm: float | None) -> float | None:
    """Joule's law, where both are known."""
    return None if amperes is None or ohm is None else amperes**2 * ohm
