"""What a direct-current network is made of, and what its solution says.

Nodes are named as everywhere: a pin `device.connector.cavity`, a splice, or a node inside a device `device.~name`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

LoadKind = Literal["resistive", "constant current", "constant power"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Resistor:
    """Anything that merely resists: wire, link, fuse, closed contact, strap, body, coil, resistor. `ohm` may be 0."""

    ref: str
    start: str
    end: str
    ohm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Source:
    """Volts behind a resistance: a battery, a module, a converter's output. Current counts out of `plus`.

    A source with `current_max_a` holds its volts up to that current and gives no more; with `one_way` none flows back into it.
    """

    ref: str
    plus: str
    minus: str
    volt: float
    ohm: float
    current_max_a: float | None = None
    one_way: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Load:
    """Something that takes current from `plus` to `minus`.

    `value` is ohms of a resistive load, amperes of a constant-current one, watts of a constant-power one. Watts below zero are
    put into the network. Below `works_from_v` a load of set current or power takes proportionally less, as a resistor would:
    that keeps the mathematics tame near zero volts; a load that is there in a solution is said to be `starved`. It does so
    below a hundredth of the highest source's volts in any case. Less than 1e-9 A or W counts as none. Only resistive loads join nodes.
    """

    ref: str
    plus: str
    minus: str
    kind: LoadKind
    value: float
    works_from_v: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Diode:
    """Current flows from `anode` to `cathode` only, with `forward_v` lost on the way besides its resistance."""

    ref: str
    anode: str
    cathode: str
    forward_v: float = 0.7
    ohm: float = 0.01


@dataclass(frozen=True, kw_only=True, slots=True)
class DcNetwork:
    """Everything between nodes, and the node that counts as 0 V."""

    ground: str
    resistors: tuple[Resistor, ...] = ()
    sources: tuple[Source, ...] = ()
    loads: tuple[Load, ...] = ()
    diodes: tuple[Diode, ...] = ()

    @property
    def items(self) -> tuple[Resistor | Source | Load | Diode, ...]:
        """Everything in it."""
        return (*self.resistors, *self.sources, *self.loads, *self.diodes)


@dataclass(frozen=True, kw_only=True, slots=True)
class Solution:
    """A converged answer. Nodes that nothing joins to ground are not in `volt`.

    `current_a` by the ref of each resistor (from start to end), source (out of plus), load and diode. `limited` are sources
    at their limit, `starved` loads below the volts from which they work. `residual_a` is the most by which Kirchhoff's
    current law is missed at any node.
    """

    volt: Mapping[str, float]
    current_a: Mapping[str, float]
    limited: frozenset[str]
    starved: frozenset[str]
    residual_a: float
    iterations: int

    def between(self, plus: str, minus: str) -> float:
        """Volts from one node to another; both must be joined to ground."""
        return self.volt[plus] - self.volt[minus]


FailureKind = Literal["no ground", "loop of ideal sources", "no operating point", "not converged"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Failure:
    """Why there is no answer: never an unconverged one in place of it.

    `about` names what is at fault: the sources of the loop, or the load that cannot be met and then the resistor that stands in its way.
    """

    kind: FailureKind
    about: tuple[str, ...]
    text: str
