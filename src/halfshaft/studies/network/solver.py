"""Sparse nodal analysis with Newton's method."""

from __future__ import annotations

from halfshaft.studies.network.records import DcNetwork, Failure, Solution


def solve(network: DcNetwork) -> Solution | Failure:
    """The state in which the network rests, with the higher volts where there are two, or why there is none."""
    raise NotImplementedError
