"""Water activity against tables and polynomials of the literature.

Sources: Robinson & Stokes, Electrolyte Solutions (1965), osmotic coefficients of sucrose and sodium chloride, and
Scatchard, Hamer & Wood, J. Am. Chem. Soc. 60 (1938) 3061 for glycerol, both from memory; Greenspan, J. Res. NBS 81A
(1977) 89, polynomials read in code copies; Starzak & Peacock (1997), parameters read in an abstract; Grover (1947) and
Money & Born (1951), coefficients from memory; the worked recipes are computed independently in the project's sheet.
"""

import math

import pytest
from iapws._iapws import _Sublimation_Pressure

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.recipes.boiling import sucrose_water_activity
from bloomless.recipes.freezing import frozen_water_activity
from bloomless.recipes.salts import salt_water_activity
from bloomless.recipes.solubility import sucrose_limit_g_per_g
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


@pytest.mark.parametrize(
    ("m", "phi", "aw"),
    [(1, 0.9355, 0.9669), (2, 0.9833, 0.9316), (2.33, None, 0.9195), (3, 1.0453, 0.893), (6, 1.2706, 0.760)],
)
def test_brine_to_its_saturation(m, phi, aw):
    """Robinson & Stokes (1965), osmotic coefficients of sodium chloride at 25 °C, from memory; 2.33 and 6 mol/kg are
    unsaturated standards of meters (0.920, 0.760).
    """
    if phi is not None:
        assert water_activity_from_osmotic(m, phi, ions=2) == pytest.approx(aw, abs=0.001)
    for model in (norrish_mixture, square_root, ross):
        assert model({"salt": 58.44 * m}, 1000) == pytest.approx(aw, abs=0.001)


def test_brine_reaches_the_saturated_salt_of_greenspan():
    """Saturation is 6.15 mol/kg at 25 °C [memory]; Greenspan (1977) has 75.3 %."""
    assert norrish_mixture({"salt": 58.44 * 6.15}, 1000) == pytest.approx(
        salt_water_activity("sodium_chloride", 25), abs=0.008
    )


def test_inversion_takes_up_its_water():
    """342.3 g of sucrose and 18.0 g of water become 360.3 g of invert sugar: check 51 of the sheet."""
    table = solute_table()
    invert_g = table["glucose"].molar_mass_g_mol + table["fructose"].molar_mass_g_mol
    assert invert_g == pytest.approx(360.3, abs=0.1)
    assert invert_g - table["sucrose"].molar_mass_g_mol == pytest.approx(MOLAR_MASS_WATER_G_MOL, abs=0.1)


def test_ice():
    """Check 53 of the sheet, 0.84 at −18 °C; and other libraries: ice by IAPWS R14-08, water by Hyland & Wexler 1983
    carried below 0 °C by Magnus (WMO 2008), which agree within half a percent.
    """
    assert frozen_water_activity(-18) == pytest.approx(0.84, abs=0.005)
    assert frozen_water_activity(0) == pytest.approx(1.0, abs=0.0003)
    for temperature_C in (-30, -18, -5):
        ice_hPa = 1e4 * _Sublimation_Pressure(temperature_C + 273.15)
        water_hPa = 6.112 * math.exp(17.62 * temperature_C / (243.12 + temperature_C))
        assert frozen_water_activity(temperature_C) == pytest.approx(ice_hPa / water_hPa, rel=0.008)
    with pytest.raises(OutsideValidity):
        frozen_water_activity(1)


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
    at_25 = 0.6752  # share of sucrose in a saturated solution at 25 °C (Vavrinecz 1962, from memory)
    moles = at_25 / 342.30
    assert sucrose_water_activity(moles / (moles + (1 - at_25) / MOLAR_MASS_WATER_G_MOL)) == pytest.approx(
        0.847, abs=0.003
    )


@pytest.mark.parametrize("pct", [66.60, 66.72, 100 * 203.9 / 303.9])
def test_solubility_of_sucrose(pct):
    # At 20 °C: Charles 1960 and Vavrinecz 1962 (from memory), and 203.9 g in 100 g of water of an older table.
    assert sucrose_limit_g_per_g(0.0) == pytest.approx(pct / (100 - pct), abs=0.05)


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
