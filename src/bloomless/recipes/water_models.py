"""Models of water activity: each one equation of the literature, for dissolved kinds in so much water.

Symbols: n moles, X mole share, m mol per kg of water, aw water activity (vapour pressure over that of pure water).
All hold near 25 °C; between 15 and 25 °C the change is below 0.01.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.recipes.solutes import MOLAR_MASS_WATER_G_MOL, solute_table

__all__ = ["grover", "money_born", "norrish", "norrish_mixture", "raoult", "ross", "square_root"]

GROVER_LEAST_E: Final = 0.41
GROVER_MOST_E: Final = 8.0
MONEY_BORN: Final = 0.27


def raoult(molality_mol_kg: float) -> float:
    """Water activity of an ideal solution: the mole share of water; good above 0.95."""
    return 1.0 / (1.0 + molality_mol_kg * MOLAR_MASS_WATER_G_MOL / 1000.0)


def norrish(molality_mol_kg: float, k: float) -> float:
    """Water activity of one solute: ``aw = X_w·exp(−K·X_s²)`` (Norrish 1966).

    Parameters
    ----------
    molality_mol_kg
        Moles per kg of water, 0 or more.
    k
        Constant of the solute in natural logarithms.
    """
    if not molality_mol_kg >= 0.0:
        raise ImpossibleInput("molality_mol_kg", molality_mol_kg, "0 mol/kg or more")
    x_w = raoult(molality_mol_kg)
    return x_w * math.exp(-k * (1.0 - x_w) ** 2)


SALT_OSMOTIC: Final = (
    (0.0, 1.0), (0.1, 0.9324), (0.5, 0.9209), (1.0, 0.9355), (1.5, 0.9574), (2.0, 0.9833), (2.5, 1.0108), (3.0, 1.0453),
    (4.0, 1.1158), (5.0, 1.1916), (6.0, 1.2706),
)  # fmt: skip
"""Osmotic coefficient of sodium chloride at 25 °C by mol/kg (Robinson & Stokes 1965, from memory)."""


def _moles(dissolved_g: Mapping[str, float], water_g: float = math.inf) -> dict[str, float]:
    """Moles that count; of salt as many as would be ideal, so that brine alone comes out as tabled to 6 mol/kg."""
    table = solute_table()
    found = {key: g / table[key].molar_mass_g_mol for key, g in dissolved_g.items()}
    if found.get("salt", 0.0) > 0.0 and water_g < math.inf:
        found["salt"] *= _ideal_ions(500.0 * found["salt"] / water_g)
    return found


def _ideal_ions(molality_mol_kg: float) -> float:
    """Ideal ions for each true ion of sodium chloride, which lower the vapour pressure alike."""
    m = min(molality_mol_kg, SALT_OSMOTIC[-1][0])
    tabled = np.array(SALT_OSMOTIC)
    phi = float(np.interp(m, tabled[:, 0], tabled[:, 1]))
    kg = MOLAR_MASS_WATER_G_MOL / 1000.0
    return math.expm1(2.0 * m * phi * kg) / (2.0 * m * kg) if m > 1e-9 else 1.0


def _water_mol(water_g: float) -> float:
    if not water_g > 0.0:
        raise ImpossibleInput("water_g", water_g, "some water, or there is no solution")
    return water_g / MOLAR_MASS_WATER_G_MOL


def norrish_mixture(dissolved_g: Mapping[str, float], water_g: float) -> float:
    """Water activity of a mixture with one constant averaged over moles.

    ``aw = X_w·exp(−K_m·X_s²)``, ``K_m = Σ K_i·n_i / Σ n_i`` (Chirife, Ferro Fontán & Benmergui 1980, from memory);
    non-electrolytes, above about 0.6.
    """
    table, moles, water_mol = solute_table(), _moles(dissolved_g, water_g), _water_mol(water_g)
    total = sum(moles.values())
    if total == 0.0:
        return 1.0
    k = sum(table[key].norrish_k.value * n for key, n in moles.items()) / total
    x_s = total / (total + water_mol)
    return (1.0 - x_s) * math.exp(-k * x_s * x_s)


def square_root(dissolved_g: Mapping[str, float], water_g: float) -> float:
    """Water activity of a mixture, ``ln aw = ln X_w − (Σ √K_i·X_i)²`` (Norrish 1966, form from memory).

    A solute with a negative constant counts by its moles only.
    """
    table, moles, water_mol = solute_table(), _moles(dissolved_g, water_g), _water_mol(water_g)
    total = sum(moles.values()) + water_mol
    root = sum(math.sqrt(max(0.0, table[key].norrish_k.value)) * n / total for key, n in moles.items())
    return water_mol / total * math.exp(-root * root)


def ross(dissolved_g: Mapping[str, float], water_g: float) -> float:
    """Water activity as the product of every solute's own in all the water (Ross 1975, from memory).

    Good to about 0.01 above 0.8; too high below.
    """
    table = solute_table()
    product = 1.0
    for key, n in _moles(dissolved_g, water_g).items():
        product *= norrish(1000.0 * n / water_g, table[key].norrish_k.value)
    return product


def money_born(dissolved_g: Mapping[str, float], water_g: float) -> float:
    """Water activity of jams and fondant syrups, ``aw = 1/(1 + 0.27·n)``, n moles of sugar in 100 g of water.

    Money & Born 1951, coefficient from memory; 0.75–0.95, ±0.015, blind to the kind of sugar.
    """
    n = 100.0 * sum(_moles(dissolved_g).values()) / (MOLAR_MASS_WATER_G_MOL * _water_mol(water_g))
    return 1.0 / (1.0 + MONEY_BORN * n)


def grover(dissolved_g: Mapping[str, float], water_g: float) -> float:
    """Water activity of confectionery, ``aw = 1.04 − 0.10·E + 0.0045·E²``, E sucrose equivalents per gram of water.

    Grover 1947, coefficients from memory; about 0.6 to 0.92. Outside it is refused, because it would give more than 1.
    """
    table = solute_table()
    e = sum(table[key].grover_s * g for key, g in dissolved_g.items()) / (MOLAR_MASS_WATER_G_MOL * _water_mol(water_g))
    return grover_of_equivalents(e)


def grover_of_equivalents(e: float) -> float:
    """Grover's equation for a known number of sucrose equivalents per gram of water, 0.41 to 8."""
    if not GROVER_LEAST_E <= e <= GROVER_MOST_E:
        raise OutsideValidity(f"Grover's equation holds for {GROVER_LEAST_E} to {GROVER_MOST_E} g/g, not {e:.2f}.")
    return 1.04 - 0.10 * e + 0.0045 * e * e
