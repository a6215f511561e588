"""The six crystal forms of cocoa butter: names, melting ranges by source, and how long the unstable ones live at rest.

Traps: the Amsterdam group treats III and IV as one range; Lovegren et al. number backwards (here put in order).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final, Literal, TypeAlias

import numpy as np

from bloomless.errors import OutsideValidity
from bloomless.sources.sourced import Grade, Sourced
from bloomless.sources.tables import read_csv

__all__ = ["FORMS", "GREEK", "Form", "MeltingRange", "lifetime_s", "melting_ranges", "working_set"]

Form: TypeAlias = Literal["I", "II", "III", "IV", "V", "VI"]
FORMS: Final[tuple[Form, ...]] = ("I", "II", "III", "IV", "V", "VI")
GREEK: Final[dict[Form, str]] = {"I": "sub-α, γ", "II": "α", "III": "β′₂", "IV": "β′₁", "V": "β₂", "VI": "β₁"}
"""Greek names [Wille & Lutton 1966]."""


@dataclass(frozen=True, slots=True)
class MeltingRange:
    """Melting of one form in one source [°C]."""

    source: str
    form: Form
    from_C: float
    to_C: float
    grade: Grade
    note: str


@cache
def melting_ranges() -> tuple[MeltingRange, ...]:
    """Every melting range of the table, source by source."""
    forms: dict[str, Form] = {form: form for form in FORMS}
    return tuple(
        MeltingRange(
            row["source"],
            forms[row["form"]],
            float(row["from_C"]),
            float(row["to_C"]),
            Grade(row["mark"]),
            row["note"],
        )
        for row in read_csv("bloomless.materials", "polymorphs.csv")
    )


def working_set() -> dict[Form, Sourced]:
    """End of melting of each form that this program works with, pure dark chocolate, West African butter [°C].

    Derived from the spread over the literature: 3–4 K for one form, by scan rate, by onset or end, by butter.
    """
    derived = Grade.DERIVED
    return {
        "II": Sourced(22.0, "°C", 2.0, "lipid_tempering_review_2021", derived),
        "III": Sourced(25.0, "°C", 1.5, "lipid_tempering_review_2021", derived),
        "IV": Sourced(27.5, "°C", 1.0, "wille_lutton_1966", derived),
        "V": Sourced(33.8, "°C", 0.7, "wille_lutton_1966", derived),
        "VI": Sourced(36.2, "°C", 0.5, "wille_lutton_1966", derived),
    }


_LIFETIMES: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "II": ((0.0, 7 * 86_400.0), (15.0, 1_800.0), (20.0, 1_800.0)),
    "IV": ((0.0, 28 * 86_400.0), (15.0, 28 * 86_400.0), (24.0, 36_000.0)),
}


def lifetime_s(form: Literal["II", "IV"], temperature_C: float) -> float:
    """How long form II (α) or IV (β′) of cocoa butter at rest lives before it has changed upward [s].

    Straight lines of the logarithm between 7 d at 0 °C and 30 min at 15 and 20 °C (α), 28 d at 0–15 °C and 10 h at
    24 °C (β′).

    Parameters
    ----------
    form
        ``II`` or ``IV``.
    temperature_C
        0…20 °C for α, 0…24 °C for β′.

    Raises
    ------
    OutsideValidity
        Outside that range.

    References
    ----------
    Marangoni & McGauley 2003, abstract; between the named temperatures the line is ours.
    """
    points = _LIFETIMES[form]
    low, high = points[0][0], points[-1][0]
    if not low <= temperature_C <= high:
        raise OutsideValidity(f"Lifetimes of form {form} are known at {low:g} to {high:g} °C, not {temperature_C:g}.")
    return float(np.exp(np.interp(temperature_C, [t for t, _ in points], [np.log(s) for _, s in points])))
