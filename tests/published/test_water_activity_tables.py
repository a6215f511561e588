"""Water activity against tables and polynomials of the literature.

Sources: Robinson & Stokes, Electrolyte Solutions (1965), osmotic coefficients of sucrose and sodium chloride, and
Scatchard, Hamer & Wood, J. Am. Chem. Soc. 60 (1938) 3061 for glycerol, both from memory; Greenspan, J. Res. NBS 81A
(1977) 89, polynomials read in code copies; Starzak & Peacock (1997), parameters read in an abstract; Grover (1947) and
Money & Born (1951), coefficients from memory; the worked recipes are computed independently in the project's sheet.
"""

import math

import pytest

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.recipes.boiling import sucrose_water_activity
from bloomless.recipes.salts import salt_water_activity
from bloomless.recipes.solubility import sucrose_solubility_charles_pct, sucrose_solubility_vavrinecz_pct
from bloomless.recipes.solutes import MOLAR_MASS_WATER_G_MOL, solute_table
from bloomless.recipes.water_models import (
    grover,
    grover_of_equivalents,
    money_born,
    norrish,
    norrish_mixture,
    raoult,
    ross,
    square_root,
)

K = {key: solute.norrish_k.value for key, solute in solute_table().items()}


def osmotic_coefficient(m):  # sucrose, 25 °C, m ≤ 6
    return 1 + 0.07028 * m + 0.01847 * m**2 - 0.004045 * m**3 + 0.000228 * m**4


def water_activity_from_osmotic(m, phi, ions=1):
    return math.exp(-MOLAR_MASS_WATER_G_MOL / 1000 * ions * m * phi)


@pytest.mark.parametrize(("m", "within"), [(1, 0.0008), (2, 0.001), (4, 0.0015), (6, 0.002)])
def test_sucrose_against_the_osmotic_polynomial(m, within):
    table = water_activity_from_osmotic(m, osmotic_coefficient(m))
    assert norrish(m, K["sucrose"]) == pytest.approx(table, abs=within)
    share = m / (m + 1000 / MOLAR_MASS_WATER_G_MOL)
    assert sucrose_water_activity(share) == pytest.approx(table, abs=0.0012)


def test_osmotic_polynomial_itself():
    assert osmotic_coefficient(6) == pytest.approx(1.508, abs=0.003)
    assert sucrose_water_activity(6 / (6 + 1000 / MOLAR_MASS_WATER_G_MOL)) == pytest.approx(0.8491, abs=0.0005)


@pytest.mark.parametrize(
    ("solute", "m", "aw", "within"),
    [
        ("glycerol", 2, 0.9639, 0.0003),
        ("glycerol", 10, 0.825, 0.002),
        ("glucose", 4, 0.9233, 0.0003),
        ("sorbitol", 4, 0.9259, 0.0003),
    ],
)
def test_polyols_and_glucose(solute, m, aw, within):
    assert norrish(m, K[solute]) == pytest.approx(aw, abs=within)


@pytest.mark.parametrize(("m", "phi", "aw", "within"), [(1, 0.9355, 0.9669, 0.0025), (2, 0.9833, 0.9316, 0.0025)])
def test_salt_as_ideal_ions_near_the_table(m, phi, aw, within):
    assert water_activity_from_osmotic(m, phi, ions=2) == pytest.approx(aw, abs=0.0007)
    assert norrish_mixture({"salt": 58.44 * m}, 1000) == pytest.approx(aw, abs=within)


@pytest.mark.parametrize(
    ("salt", "temperature_C", "pct", "within"),
    [
        ("sodium_chloride", 20, 75.5, 0.1),
        ("potassium_chloride", 25, 84.3, 0.1),
        ("potassium_acetate", 25, 22.5, 0.1),
        ("magnesium_chloride", 25, 32.8, 0.1),
        ("potassium_carbonate", 25, 43.16, 0.2),
        ("lithium_chloride", 25, 11.3, 0.45),
        ("potassium_nitrate", 25, 93.6, 0.1),
        ("potassium_sulfate", 25, 97.3, 0.1),
    ],
)
def test_saturated_salts(salt, temperature_C, pct, within):
    assert 100 * salt_water_activity(salt, temperature_C) == pytest.approx(pct, abs=within)


def test_saturated_salts_outside():
    with pytest.raises(OutsideValidity):
        salt_water_activity("potassium_acetate", 40)


def test_money_born_and_grover():
    assert money_born({"sucrose": 0.6 * 342.30}, 100) == pytest.approx(0.8606, abs=0.0005)
    assert grover_of_equivalents(2.0) == pytest.approx(0.858, abs=0.0005)
    assert grover({"sucrose": 100.0}, 50) == pytest.approx(0.858, abs=0.0005)
    with pytest.raises(OutsideValidity):
        grover_of_equivalents(0.2)


def test_saturated_sucrose():
    at_25 = sucrose_solubility_vavrinecz_pct(25) / 100
    moles = at_25 / 342.30
    assert sucrose_water_activity(moles / (moles + (1 - at_25) / MOLAR_MASS_WATER_G_MOL)) == pytest.approx(
        0.847, abs=0.003
    )


def test_solubility_of_sucrose():
    assert sucrose_solubility_charles_pct(20) == pytest.approx(66.60, abs=0.02)
    assert sucrose_solubility_charles_pct(25) == pytest.approx(67.35, abs=0.02)
    assert sucrose_solubility_vavrinecz_pct(20) == pytest.approx(66.72, abs=0.02)
    assert sucrose_solubility_vavrinecz_pct(60) == pytest.approx(74.26, abs=0.02)
    # The older table has 203.9 g in 100 g of water at 20 °C.
    assert abs(sucrose_solubility_charles_pct(20) - 100 * 203.9 / 303.9) < 0.6
    for outside in (sucrose_solubility_charles_pct, sucrose_solubility_vavrinecz_pct):
        with pytest.raises(OutsideValidity):
            outside(-1)


def test_glucose_syrup():
    # 80 % solids of DE 42
    assert norrish_mixture({"syrup_de42": 80.0}, 20) == pytest.approx(0.767, abs=0.003)
    # DE of a pure oligomer: 100 · 180.16 / M; maltose 52.6
    assert 100 * 180.16 / solute_table()["maltose"].molar_mass_g_mol == pytest.approx(52.6, abs=0.1)
    for de in (28, 38, 42, 60):
        assert solute_table()[f"syrup_de{de}"].molar_mass_g_mol == pytest.approx(18016 / de, rel=0.002)


def test_limits_and_bad_input():
    assert norrish_mixture({}, 10) == square_root({}, 10) == ross({}, 10) == 1
    assert raoult(0) == 1
    with pytest.raises(ImpossibleInput):
        norrish(-1, 1)
    with pytest.raises(ImpossibleInput):
        norrish_mixture({"sucrose": 1}, 0)
    with pytest.raises(OutsideValidity):
        sucrose_water_activity(0.9)
