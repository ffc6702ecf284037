"""Why a setting of the shop is a limit: it is the published figure, or the shop's own."""

from __future__ import annotations

from typing import cast

from halfshaft.model.finding import Basis, BasisKind, published
from halfshaft.standards import Constant, constants


def basis_of(constant: Constant) -> Basis:
    """Where a figure of the tables is from."""
    return Basis(cast(BasisKind, constant.basis), constant.source)


def shop_basis(setting: float, name: str) -> Basis:
    """Published where a setting is the published figure of this name; else the shop's own, with that figure beside it."""
    constant = constants()[name]
    if setting == constant.value:
        return published(constant.source)
    return Basis("common practice", f"shop setting; published {constant.value:g} {constant.unit} by {constant.source}")
