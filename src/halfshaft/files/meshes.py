"""A mesh as it comes from a scanner to one closed surface written in one way, or every reason why it is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from halfshaft.files.mesh_formats import MeshError, Soup
from halfshaft.model.meshes import MM_PER_UNIT, Spot, Triangle

MERGE_MM = 0.01
SMALLEST_MM, LARGEST_MM = 50.0, 6000.0
FURTHEST_MM = 100_000.0
MM_PER_INCH = 25.4
# A corner has some six triangles; what lies closer than that many to one another is no surface but dust.
NEIGHBOURS_MAX = 30


@dataclass(frozen=True, kw_only=True, slots=True)
class Surface:
    """A closed surface in its own unit, and in words what was put right."""

    corners: tuple[Spot, ...]
    triangles: tuple[Triangle, ...]
    repaired: tuple[str, ...]


def surface_of(soup: Soup, unit: str) -> Surface:
    """One whole body, right way out, its corners and triangles in the one order in which they are written.

    Raises MeshError with the sentence that says why it is not one, and what to do.
    """
    mm = MM_PER_UNIT[unit]
    corners, triangles = _measured(*soup, mm)
    repaired: list[str] = []
    corners, triangles = _merged(corners, triangles, MERGE_MM / mm, repaired)
    triangles = _without_collapsed(triangles, repaired)
    _check_edges(corners * mm, triangles)
    _check_one_body(corners * mm, triangles)
    if _volume(corners, triangles) < 0:
        triangles = triangles[:, ::-1]
        repaired.append("was inside out and has been turned")
    return Surface(**_in_one_order(corners, triangles), repaired=tuple(repaired))


def _measured(corners: Any, triangles: Any, mm: float) -> Soup:
    """Refuses numbers that no space has: most likely the wrong unit."""
    import numpy as np

    if not len(triangles):
        raise MeshError("holds no triangles")
    if not np.isfinite(corners).all():
        raise MeshError("holds corners that are no places: numbers without end, or none")
    used = corners[triangles.ravel()]
    sides = (used.max(axis=0) - used.min(axis=0)) * mm
    longest = float(sides.max())
    if not SMALLEST_MM <= longest <= LARGEST_MM:
        raise MeshError(_wrong_unit(longest, mm))
    if np.abs(used).max() * mm > FURTHEST_MM:
        raise MeshError("lies more than 100 m away from the car's origin: turn and move it into the car's axes and save it again")
    return corners + 0.0, triangles


def _wrong_unit(longest_mm: float, mm: float) -> str:
    found = longest_mm / mm
    others = [("mm", 1.0), ("m", 1000.0), ("inches", MM_PER_INCH)]
    likely = [name for name, factor in others if factor != mm and SMALLEST_MM <= found * factor <= LARGEST_MM]
    cure = {
        "mm": "if it is in mm, write mm as its unit in meshes.csv",
        "m": "if it is in m, write m as its unit in meshes.csv",
        "inches": "if it is in inches, scale it by 25.4 and save it in mm",
    }
    words = "; ".join(cure[name] for name in likely) or "scale it to mm or m and save it again"
    unit = "mm" if mm == 1.0 else "m"
    return (
        f"its longest side would be {found:.4g} {unit}; a space of a car is {SMALLEST_MM:.0f} mm to {LARGEST_MM / 1000:.0f} m long: "
        f"is its unit wrong? {words[0].upper() + words[1:]}"
    )


def _merged(corners: Any, triangles: Any, within: float, repaired: list[str]) -> Soup:
    """Corners that are one place made one corner: the same numbers first, then what a crack of 0.01 mm parts."""
    import numpy as np
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    triangles = np.asarray(triangles)
    _, firsts, same = np.unique(corners[triangles.ravel()], axis=0, return_index=True, return_inverse=True)
    places = corners[triangles.ravel()][firsts]
    tree = cKDTree(places)
    if tree.count_neighbors(tree, within) > NEIGHBOURS_MAX * len(places):
        raise MeshError("has its corners closer together than 0.01 mm: is its unit wrong, or has it collapsed?")
    pairs = tree.query_pairs(within, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(places), len(places)))
    count, group = connected_components(links, directed=False)
    if count < len(places):
        repaired.append(
            f"{len(places) - count} {_word(len(places) - count, 'corner')} less than {MERGE_MM:g} mm from another merged into it"
        )
    # The places are sorted, so the first of a group is its least: the same one next time, too.
    _, least = np.unique(group, return_index=True)
    order = np.argsort(least, kind="stable")
    number = np.empty(count, dtype=np.int64)
    number[order] = np.arange(count)
    return places[least[order]], number[group[same.reshape(triangles.shape)]]


def _without_collapsed(triangles: Any, repaired: list[str]) -> Any:
    """Less the triangles that are a line or a point, and less pairs of which one is the other's back."""
    import numpy as np

    a, b, c = triangles.T
    kept = triangles[(a != b) & (b != c) & (c != a)]
    key = np.sort(kept, axis=1)
    _, same, counts = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    turn = np.where(_is_even(kept, key), 1, -1)
    turns = np.bincount(same.ravel(), weights=turn, minlength=len(counts))
    kept = kept[~((counts == 2) & (turns == 0))[same.ravel()]]
    dropped = len(triangles) - len(kept)
    if dropped:
        repaired.append(f"{dropped} {_word(dropped, 'triangle')} without area dropped")
    if len(kept) < 4:
        raise MeshError("encloses no room: it is flat, a line or a point")
    return kept


def _is_even(triangles: Any, key: Any) -> Any:
    """Whether sorting a triangle's corners only turned it round, and did not turn it over."""
    import numpy as np

    start = np.argmin(triangles, axis=1)
    after = triangles[np.arange(len(triangles)), (start + 1) % 3]
    return after == key[:, 1]


def _check_edges(places_mm: Any, triangles: Any) -> None:
    """Every edge has two triangles, and they run along it in opposite ways."""
    import numpy as np

    directed = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    edges, same, counts = np.unique(np.sort(directed, axis=1), axis=0, return_inverse=True, return_counts=True)
    lone = edges[counts == 1]
    if len(lone):
        raise MeshError(
            f"is open: {len(lone)} {_word(len(lone), 'edge')} {'has' if len(lone) == 1 else 'have'} a triangle on one side only, "
            f"{_where(places_mm, lone)}. Close the hole there (scanning programs call it filling holes) and save it again"
        )
    many = edges[counts > 2]
    if len(many):
        raise MeshError(
            f"touches itself: {len(many)} {_word(len(many), 'edge')} {'has' if len(many) == 1 else 'have'} more than two triangles, "
            f"{_where(places_mm, many)}. Take away what lies there twice, or what is no part of the room's skin"
        )
    forward = np.bincount(same.ravel(), weights=directed[:, 0] < directed[:, 1])
    askew = edges[forward != 1]
    if len(askew):
        raise MeshError(
            f"looks outwards in one part and inwards in another: they meet at {len(askew)} {_word(len(askew), 'edge')}, "
            f"{_where(places_mm, askew)}. Let the scanning program make all faces look outwards (recalculate normals)"
        )


def _where(places_mm: Any, edges: Any) -> str:
    """Where some edges are, in words and in numbers."""
    spots = places_mm[edges.ravel()]
    low, high = places_mm.min(axis=0), places_mm.max(axis=0)
    share = (spots.mean(axis=0) - low) / (high - low).clip(1e-9)
    words = [
        name
        for value, (first, last) in zip(share, (("front", "rear"), ("left", "right"), ("bottom", "top")), strict=True)
        for name in ([first] if value < 0.25 else [last] if value > 0.75 else [])
    ]
    spans = [
        f"{axis} {least:.0f} to {most:.0f}" if most - least >= 1 else f"{axis} {least:.0f}"
        for axis, least, most in zip("xyz", spots.min(axis=0), spots.max(axis=0), strict=True)
    ]
    side = f"towards its {' '.join(reversed(words))}" if words else "about its middle"
    return f"{side} ({', '.join(spans)} mm)"


def _check_one_body(places_mm: Any, triangles: Any) -> None:
    import numpy as np
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(2 * len(triangles)), (np.repeat(triangles[:, 0], 2), triangles[:, 1:].ravel())), shape=(len(places_mm),) * 2)
    count, group = connected_components(links, directed=False)
    if count > 1:
        sizes = []
        for body in range(min(count, 4)):
            sides = np.ptp(places_mm[group == body], axis=0)
            sizes.append(" x ".join(f"{side:.0f}" for side in sides) + " mm")
        more = f" and {count - 4} more" if count > 4 else ""
        raise MeshError(
            f"holds {count} bodies ({'; '.join(sizes)}{more}); a space is one: keep the skin of the room alone, "
            "and write what stands in it into keep_outs.csv"
        )


def _volume(corners: Any, triangles: Any) -> float:
    """Signed volume by the divergence theorem; above zero where triangles run anticlockwise seen from outside."""
    import numpy as np

    a, b, c = (corners[triangles[:, index]] - corners.mean(axis=0) for index in range(3))
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)
    if abs(volume) < 1e-6 * float(np.prod(np.ptp(corners, axis=0).clip(1e-12))):
        raise MeshError("encloses no room: its sides lie on each other")
    return volume


def _in_one_order(corners: Any, triangles: Any) -> dict[str, Any]:
    """Corners sorted by x, y, z; each triangle from its least corner; triangles sorted."""
    import numpy as np

    used, numbers = np.unique(triangles, return_inverse=True)
    # Corners came out of the merging sorted; leaving some out keeps them so.
    numbers = numbers.reshape(triangles.shape)
    start = np.argmin(numbers, axis=1)
    rows = np.arange(len(numbers))
    turned = np.column_stack([numbers[rows, (start + step) % 3] for step in range(3)])
    turned = turned[np.lexsort((turned[:, 2], turned[:, 1], turned[:, 0]))]
    return {
        "corners": tuple(map(tuple, corners[used].tolist())),
        "triangles": tuple(map(tuple, turned.tolist())),
    }


def _word(count: int, word: str) -> str:
    return word if count == 1 else f"{word}s"


def mesh_values(soup: Soup, raw: dict[str, Any]) -> dict[str, Any]:
    """What a row of meshes.csv lacks: the surface, and beside the row's own words what was put right this time.

    Raises MeshError with a sentence.
    """
    surface = surface_of(soup, raw["unit"])
    before = raw.get("repaired", "")
    words = [before] if before else []
    words += [repair for repair in surface.repaired if repair not in before]
    return {"corners": surface.corners, "triangles": surface.triangles, "repaired": "; ".join(words)}
