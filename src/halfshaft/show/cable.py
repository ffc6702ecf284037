"""How warm wires and cables get, and what another section would do, for a screen."""

from __future__ import annotations

from halfshaft.show.tables import table
from halfshaft.studies.cable.choices import Choice
from halfshaft.studies.cable.rules import MEAN_PERCENT, WORST_PERCENT
from halfshaft.study import Study

ACCURACY = (
    f"Computed, not measured: beside published tables of currents the balance is {MEAN_PERCENT} % off in the mean and {WORST_PERCENT} % at worst (docs/cables.md); "
    "a wire near its limit wants a thermometer."
)


def cable(study: Study) -> str:
    """Every wire and cable with a known current, least to spare first."""
    heats = study.cable_heat
    if not heats:
        return "No wire or cable carries a current that is known where the heat of its zone is known."
    rows = [
        (
            heat.ref, f"{heat.section_mm2:g}", heat.length_m, heat.current.continuous_a, heat.place.run or "ends", heat.place.zone, f"{heat.place.around.ambient_c:g}",
            str(heat.place.loaded), heat.place.covering, heat.conductor_c, heat.pulse_c, f"{heat.limit_c:g}", heat.capacity_a, heat.current.case,
        )
        for heat in heats.values()
    ]  # fmt: skip
    header = (
        "ref",
        "mm2",
        "m",
        "A",
        "in run",
        "zone",
        "air C",
        "loaded",
        "covering",
        "conductor C",
        "at peak C",
        "limit C",
        "A at limit",
        "case",
    )
    chosen = [
        (
            choices.ref,
            f"{choices.now.section_mm2:g}{_against(choices.now)}",
            *(_words(item) for item in (choices.smaller, choices.larger)),
            _least(choices.least),
        )
        for choices in study.cable_choices.values()
    ]
    options = table(("ref", "mm2", "one smaller", "one larger", "least that would do, this one alone changed"), chosen)
    return f"{table(header, rows)}\n\n{options}\n\n{ACCURACY}"


def _words(choice: Choice | None) -> str:
    if choice is None:
        return ""
    price = "" if choice.price_eur is None else f", {choice.price_eur:+.2f} EUR"
    terminals = f"; not in {', '.join(choice.terminals)}" if choice.terminals else ""
    return f"{choice.section_mm2:g}: {choice.conductor_c:.0f} C, {choice.drop_v:.2f} V, {choice.mass_g:+.0f} g{price}{_against(choice)}{terminals}"


def _against(choice: Choice) -> str:
    return f"; NO: {', '.join(choice.fails)}" if choice.fails else ""


def _least(choice: Choice | None) -> str:
    return "none alone" if choice is None else _words(choice)
