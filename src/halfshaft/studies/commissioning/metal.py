"""Dead tests of bare metal: bonds of cases, straps, ground points, and fuses with their box closed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from halfshaft.model.conversion import Conversion
from halfshaft.standards import constants
from halfshaft.studies.commissioning.limits import CATALOGUE, CIRCUIT, COPPER, JOINT
from halfshaft.studies.commissioning.records import Part, Sense, milliohm_line
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.hv_safety.bonding import JOINTS, Bonding, strap_mohm
from halfshaft.studies.hv_safety.limits import basis_of, limit_of
from halfshaft.studies.wires.circuit import Branch

FOUR_LEADS = "milliohm meter with four leads"
DEAD = "service disconnect out and locked, 12 V battery's minus off"
CONTACTS = 2


def joint_mohm() -> float:
    """What one connection may add, milliohm."""
    return constants()["connection_allowance_mohm"].value


def bonding_part(conversion: Conversion, bonding: Bonding) -> Part:
    """Each strap by itself; then the whole way to the body of each case that has more than one strap on it."""
    limit_mohm = 1000 * limit_of("bond")
    straps = [
        milliohm_line(
            (f"{bond.device} case, bare metal", bond.to),
            DEAD,
            strap_mohm(length_mm=bond.length_mm, section_mm2=bond.section_mm2) + JOINTS * joint_mohm(),
            high=min(bond.reading_max_mohm, limit_mohm),
            senses=(Sense(ref=bond.ref, kind="strap"),),
            suspect=f"{bond.ref}, {bond.name}",
        )
        for bond in conversion.bonds
    ]
    ways = [
        milliohm_line(
            (f"{path.device} case, bare metal", "body, bare metal"),
            DEAD,
            path.path_mohm,
            high=min(path.reading_max_mohm, limit_mohm),
            senses=tuple(Sense(ref=bond, kind="strap") for bond in path.bonds),
            suspect=", ".join(path.bonds),
        )
        for path in bonding.paths
        if path.ends == "body" and len(path.bonds) > 1
    ]
    return Part(
        key="bonding",
        title="Bonding of every case that a hand can reach",
        instrument=f"{FOUR_LEADS}, 0.2 A or more",
        basis=(basis_of("bond"), basis_of("bond_current"), COPPER, JOINT),
        wrong="{} is loose, lies on paint, or is missing.",
        lines=(*straps, *ways),
        note=f"Passes: what the shop lets pass (reading_max_mohm in bonds.csv), never above {limit_mohm:.0f} mΩ from case to body.",
    )


def ground_part(conversion: Conversion, minus_way: tuple[Branch, ...]) -> Part:
    """Each strap that is there, and each ground point to the lead of the battery's minus."""
    straps = [
        milliohm_line(
            (strap.from_node, strap.to_node),
            DEAD,
            strap.resistance_mohm + CONTACTS * joint_mohm(),
            high=2 * (strap.resistance_mohm + CONTACTS * joint_mohm()),
            senses=(Sense(ref=strap.ref, kind="strap"),),
            suspect=f"{strap.ref}, {strap.name}",
        )
        for strap in conversion.straps
        if strap.removed_with is None and strap.is_conductor
    ]
    own_mohm = 1000 * sum(branch.resistance_ohm for branch in minus_way)
    shared = tuple(Sense(ref=branch.ref, kind=branch.kind) for branch in minus_way)
    at_minus = {node.partition(".")[0] for branch in minus_way for node in (branch.start, branch.end)}
    grounds = []
    for point in conversion.ground_points:
        far = point.ref not in at_minus
        expected = own_mohm + (conversion.supply.body_mohm if far else 0.0)
        grounds.append(
            milliohm_line(
                (f"{point.ref}, its stud", "lead of the 12 V battery's minus, off its post"),
                DEAD,
                expected,
                high=expected + CONTACTS * joint_mohm() * (2 if far else 1),
                senses=(Sense(ref=point.ref, kind="ground point"), *shared),
                suspect=f"{point.ref}: bare metal under the ring, torque",
            )
        )
    return Part(
        key="grounds",
        title="Straps, and ground points to the battery's minus",
        instrument=FOUR_LEADS,
        basis=(CIRCUIT, JOINT),
        wrong="{} is loose, corroded, or lies on paint.",
        lines=(*straps, *(grounds if minus_way else ())),
    )


def fuse_part(conversion: Conversion, live: frozenset[str]) -> Part:
    """Every fuse but those that stand between live modules, at the pins of its closed box where nothing else is on the way."""
    lines = []
    for ref, element in conversion.element.items():
        if element.kind != "fuse" or ref in live:
            continue
        own_mohm = 1000 * (element.resistance_ohm or 0.0)
        rating = "" if element.rating_a is None else f", {element.rating_a:g} A"
        ends = _outside(conversion, ref)
        lines.append(
            milliohm_line(
                (f"{ends[0]} ({ref}{rating})", ends[1]) if ends else (f"{ref}{rating}: one test point", "its other test point"),
                f"{DEAD}; fuse in its place, box closed",
                own_mohm,
                high=2 * own_mohm + CONTACTS * joint_mohm(),
                senses=(Sense(ref=ref, kind="fuse"),),
                suspect=f"{ref}, its seat",
            )
        )
    return Part(
        key="fuses",
        title="Fuse by fuse",
        instrument=FOUR_LEADS,
        basis=(CATALOGUE, JOINT),
        wrong="{} is blown, missing, or not seated.",
        lines=tuple(lines),
        note="Look at the rating on each fuse too. Passes: twice its own resistance and two connections (from memory: blade fuses differ by less).",
    )


def _outside(conversion: Conversion, fuse: str) -> tuple[str, str] | None:
    """A pin on either side of a fuse that links alone join to it, so that it can be measured with its box closed."""
    device = fuse.partition(".")[0]
    inside = conversion.part[conversion.device[device].part].inside
    group = joined_groups((item.pin_a, item.pin_b) for item in inside if item.kind == "link")
    element = conversion.element[fuse]
    sides = [_pins_at(conversion, device, group, pin) for pin in (element.pin_a, element.pin_b)]
    first, second = (next(side, None) for side in sides)
    return None if first is None or second is None else (first, second)


def _pins_at(conversion: Conversion, device: str, group: Mapping[str, str], pin: str) -> Iterator[str]:
    name = group.get(pin, pin)
    for cavity in conversion.cavity:
        if cavity.startswith(f"{device}.") and group.get(cavity.partition(".")[2], cavity.partition(".")[2]) == name:
            yield cavity
