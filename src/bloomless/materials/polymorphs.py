"""The crystal forms of cocoa butter and where each ends melting.

Traps: the Amsterdam group treats III and IV as one range; Lovegren et al. number backwards.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from bloomless.sources.sourced import Grade, Sourced

__all__ = ["Form", "working_set"]

Form: TypeAlias = Literal["II", "III", "IV", "V", "VI"]


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
