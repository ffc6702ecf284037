"""Battery packs made up for tests, and what a meter would really read in them: its own network, solved node by node.

Nothing here uses the program's own walk along the cells: every cell, bar, wire and the meter is a resistance between
numbered nodes, and the node volts come from Kirchhoff's current law (numpy).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np

from halfshaft.files.folder import read_folder
from halfshaft.model.boxes import Box, ModulePlace
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Cavity, Connector, Element, Part
from support import changed

DEMO = Path(__file__).parents[1] / "examples" / "tern"
BAR_OHM, CELL_OHM, METER_OHM, LEAK_OHM = 1e-4, 8e-4, 1e7, 1e11
# A module counted from the pack's minus end, and one of its taps or pins from its own minus end.
Pin = tuple[int, int]


def made_up(*, modules: int, cells: int) -> Conversion:
    """The demo with one long box: so many modules in a row, each with so many cells, and boards with six plugs each."""
    demo = _demo()
    module = _part(demo.part["AT-MOD8"], cells)
    board = _board(demo.part["AT-SENSE"], cells)
    kind = demo.modules[0].model_copy(update={"cells_in_series": cells})
    place = demo.boxes[0].modules[0]
    boards = -(-modules // 6)
    template = demo.device["SB1"]
    box = Box(
        ref="B1", space=demo.boxes[0].space, x_min_mm=-10, y_min_mm=-446, z_min_mm=268, x_max_mm=116 * modules + 10, y_max_mm=-39, z_max_mm=488, wall_mm=2,
        modules=tuple(_place(place, number) for number in range(modules)),
    )  # fmt: skip
    return changed(
        demo,
        parts=(*(part for part in demo.parts if part.ref not in (module.ref, board.ref)), module, board),
        modules=(kind,),
        boxes=(box,),
        busbars=(),
        joints=(),
        devices=(
            *(item for item in demo.devices if not item.ref.startswith("SB")),
            *(template.model_copy(update={"ref": f"SB{n + 1}", "x_mm": 116.0 * 6 * n + 50, "y_mm": -110.0, "z_mm": 440.0}) for n in range(boards)),
        ),
    )  # fmt: skip


@cache
def _demo() -> Conversion:
    return read_folder(DEMO)


def _place(like: ModulePlace, number: int) -> ModulePlace:
    """Every second one turned, so that plus lies beside minus."""
    return like.model_copy(
        update={
            "ref": f"M{number + 1:02}",
            "order_in_string": number + 1,
            "x_min_mm": 116.0 * number,
            "x_max_mm": 116.0 * number + 108,
            "cooled_face": ("front", "rear")[number % 2],
            "plus_end": ("right", "left")[number % 2],
        }
    )


def _ways(like: Cavity, taps: int) -> tuple[Cavity, ...]:
    return tuple(like.model_copy(update={"ref": str(n + 1), "name": f"tap C{n}", "role": "cell_tap"}) for n in range(taps))


def _plug(like: Connector, taps: int) -> Connector:
    return like.model_copy(update={"rows": 2, "columns": -(-taps // 2), "cavities": _ways(like.cavities[0], taps)})


def _part(part: Part, cells: int) -> Part:
    sense = next(item for item in part.connectors if item.ref == "S")
    inside = [
        Element(ref=f"cell{n}", kind="source", pin_a=f"S.{n + 1}", pin_b=f"S.{n}", resistance_ohm=CELL_OHM) for n in range(1, cells + 1)
    ]
    inside += [
        Element(ref="plus", kind="link", pin_a="P.1", pin_b=f"S.{cells + 1}"),
        Element(ref="minus", kind="link", pin_a="N.1", pin_b="S.1"),
    ]
    connectors = tuple(_plug(sense, cells + 1) if item.ref == "S" else item for item in part.connectors)
    return part.model_copy(update={"connectors": connectors, "inside": tuple(inside)})


def _board(part: Part, cells: int) -> Part:
    return part.model_copy(
        update={"connectors": tuple(_plug(item, cells + 1) if item.ref.startswith("J") else item for item in part.connectors)}
    )


@dataclass
class Bench:
    """A string of modules on a bench, as it was really built. Modules count from the pack's minus end.

    `turned`: end for end under the bars. `at_pin[m][k]`: which module's which tap the wire at pin k of plug m comes from, or None.
    """

    volts: list[list[float]]
    turned: set[int] = field(default_factory=set)
    at_pin: list[list[Pin | None]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.at_pin = [[(m, k) for k in range(len(cells) + 1)] for m, cells in enumerate(self.volts)]

    def reads(self, pairs: Sequence[tuple[Pin | None, Pin | None]]) -> list[float]:
        """What the meter shows between red and black at each pair of pins; None is the minus pole of the box.

        The battery as the meter sees it from two nodes is a source behind a resistance (Thevenin).
        """
        inverse, current = self._network()
        open_volts = inverse @ current
        shown = []
        for red, black in ((self._node_at(one), self._node_at(other)) for one, other in pairs):
            behind_ohm = inverse[red, red] + inverse[black, black] - inverse[red, black] - inverse[black, red]
            shown.append(float((open_volts[red] - open_volts[black]) * METER_OHM / (METER_OHM + behind_ohm)))
        return shown

    def _node_at(self, pin: Pin | None) -> int:
        if pin is None:
            return 0
        comes_from = self.at_pin[pin[0]][pin[1]]
        return self._dangling if comes_from is None else self._tap(*comes_from)

    def _tap(self, module: int, tap: int) -> int:
        return 1 + sum(len(cells) + 1 for cells in self.volts[:module]) + tap

    @property
    def _dangling(self) -> int:
        return 1 + sum(len(cells) + 1 for cells in self.volts)

    def _network(self) -> tuple[np.ndarray, np.ndarray]:
        """Inverse of the conductances, and the currents that the cells feed in; node 0 is the minus pole."""
        size = self._dangling + 1
        conductance, current = np.zeros((size, size)), np.zeros(size)

        def resistor(one: int, other: int, ohm: float, volts: float = 0.0) -> None:
            """From one to other, with a source whose plus is at `one`."""
            for node, far, sign in ((one, other, 1.0), (other, one, -1.0)):
                conductance[node, node] += 1 / ohm
                conductance[node, far] -= 1 / ohm
                current[node] += sign * volts / ohm

        low = 0
        for module, cells in enumerate(self.volts):
            for index, volts in enumerate(cells):
                resistor(self._tap(module, index + 1), self._tap(module, index), CELL_OHM, volts)
            ends = [self._tap(module, 0), self._tap(module, len(cells))]
            first, last = reversed(ends) if module in self.turned else ends
            resistor(first, low, BAR_OHM)
            low = last
        # A wire that leads nowhere leaks a little through its insulation, far less than through the meter.
        resistor(self._dangling, 0, LEAK_OHM)
        conductance[0, :], conductance[:, 0], current[0] = 0.0, 0.0, 0.0
        conductance[0, 0] = 1e12
        return np.linalg.inv(conductance), current


def place_of(name: str, plugs: Sequence[Sequence[str]]) -> Pin | None:
    """Where a pin of the sheet is on the bench: module and tap; None for the pole of the box."""
    return next(((module, list(pins).index(name)) for module, pins in enumerate(plugs) if name in pins), None)
