"""Heat capacity and density of food by composition, and the heats of melting of fat.

Choi & Okos 1986 for fat, protein, fibre, ash, water and dissolved carbohydrate; crystalline sugar and lactose have a
heat capacity of their own: with "carbohydrate" for sugar the result is 9 % above the tabulated 1670 J/(kg K).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from bloomless.errors import OutsideValidity
from bloomless.materials.chocolates import Chocolate
from bloomless.sources.sourced import Grade, Sourced

__all__ = [
    "CHOI_OKOS",
    "HEAT_OF_MELTING",
    "density_kg_m3",
    "heat_capacity_J_kgK",
    "heat_of_melting_J_kg",
    "of_chocolate",
]


@dataclass(frozen=True, slots=True)
class Polynomials:
    """Coefficients of 1, T, T² (T in °C) for heat capacity and density."""

    c: tuple[float, float, float]
    rho: tuple[float, float, float]
    source: str
    grade: Grade


def _choi_okos(c: tuple[float, float, float], rho: tuple[float, float, float]) -> Polynomials:
    return Polynomials(c, rho, "choi_okos_1986", Grade.PUBLISHED)


CHOI_OKOS: Final[dict[str, Polynomials]] = {
    "fat": _choi_okos((1984.2, 1.4733, -4.8008e-3), (925.59, -0.41757, 0.0)),
    "carbohydrate": _choi_okos((1548.8, 1.9625, -5.9399e-3), (1599.1, -0.31046, 0.0)),
    "protein": _choi_okos((2008.2, 1.2089, -1.3129e-3), (1329.9, -0.5184, 0.0)),
    "fibre": _choi_okos((1845.9, 1.8306, -4.6509e-3), (1311.5, -0.36589, 0.0)),
    "ash": _choi_okos((1092.6, 1.8896, -3.6817e-3), (2423.8, -0.28063, 0.0)),
    "water": _choi_okos((4128.9, -9.0864e-2, 5.4731e-3), (997.18, 3.1439e-3, -3.7574e-3)),
    "sucrose": Polynomials((1158.6, 3.356, 0.0), (1587.0, 0.0, 0.0), "sugar_handbook", Grade.FROM_MEMORY),
    "lactose": Polynomials((1140.0, 3.356, 0.0), (1525.0, 0.0, 0.0), "sugar_handbook", Grade.FROM_MEMORY),
}
"""Valid −40…150 °C (water from 0 °C). Lactose: c 1.2–1.25 kJ/(kg K) at 25 °C, slope as sucrose."""

HEAT_OF_MELTING: Final[dict[str, Sourced]] = {
    "form_v": Sourced(150e3, "J/kg", 10e3, "chevalley_1970", Grade.ASSUMED, note="137–157 kJ/kg of solid fat"),
    "form_iv_ratio": Sourced(0.82, "1", 0.08, "seilert_2021", Grade.DERIVED, note="β′ : β of POS, of POP and SOS"),
    "form_ii_ratio": Sourced(0.54, "1", 0.05, "seilert_2021", Grade.DERIVED, note="α : β; trielaidin measured 0.54"),
    "dark": Sourced(46e3, "J/kg", 3e3, "chevalley_1970", Grade.PUBLISHED, note="per kg of chocolate, fully set"),
    "milk": Sourced(44e3, "J/kg", 3e3, "chevalley_1970", Grade.PUBLISHED, note="per kg of chocolate, fully set"),
}


def _at(coefficients: tuple[float, float, float], temperature_C: float) -> float:
    if not -40.0 <= temperature_C <= 150.0:
        raise OutsideValidity(f"Thermal properties hold from −40 to 150 °C, not at {temperature_C:g} °C.")
    a, b, c = coefficients
    return a + temperature_C * (b + temperature_C * c)


def heat_capacity_J_kgK(shares: dict[str, float], temperature_C: float) -> float:
    """Heat capacity of a mixture [J/(kg K)]: ``c = Σ wᵢ cᵢ``.

    Parameters
    ----------
    shares
        Mass share by component, names of ``CHOI_OKOS``.
    temperature_C
        Temperature, −40…150 °C.

    Raises
    ------
    OutsideValidity
        Outside that range.
    """
    return sum(w * _at(CHOI_OKOS[name].c, temperature_C) for name, w in shares.items())


def density_kg_m3(shares: dict[str, float], temperature_C: float) -> float:
    """Density of a mixture without air [kg/m³]: ``1/ρ = Σ wᵢ/ρᵢ``; parameters as ``heat_capacity_J_kgK``."""
    return sum(shares.values()) / sum(w / _at(CHOI_OKOS[name].rho, temperature_C) for name, w in shares.items())


def of_chocolate(of: Chocolate) -> dict[str, float]:
    """Shares of a chocolate by thermal component; sugars count as crystalline."""
    shares = {
        "fat": of.fat_share,
        "sucrose": of.sugar_share,
        "lactose": of.lactose_share,
        "protein": of.protein_share,
        "fibre": of.fibre_share,
        "ash": of.ash_share,
        "water": of.moisture_share,
    }
    return {name: share for name, share in shares.items() if share > 0.0}


def heat_of_melting_J_kg(form: Literal["II", "IV", "V"]) -> float:
    """Heat of melting per kg of solid fat [J/kg]: V as published, II and IV by the ratios of pure triglycerides."""
    v = HEAT_OF_MELTING["form_v"].value
    ratio = {"II": HEAT_OF_MELTING["form_ii_ratio"].value, "IV": HEAT_OF_MELTING["form_iv_ratio"].value, "V": 1.0}
    return v * ratio[form]
