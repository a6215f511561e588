"""Film coefficients against the open library ``ht`` and the moulding sheet, section 3."""

import ht
import pytest

from bloomless.errors import ImpossibleInput
from bloomless.materials.films import radiation_W_m2K
from bloomless.physics.mould_films import faces, forced_W_m2K, natural_W_m2K
from bloomless.physics.mould_kernel import film


def test_still_air():
    # Sheet 275 × 135 mm, 16 K: 6.1 above, 3.0 below; 10 K: 5.4 / 2.7.
    length = 0.275 * 0.135 / (2 * 0.41)
    assert natural_W_m2K(16, length, upwards=True) == pytest.approx(6.1, abs=0.15)
    assert natural_W_m2K(16, length, upwards=False) == pytest.approx(3.0, abs=0.1)
    assert natural_W_m2K(10, length, upwards=True) == pytest.approx(5.4, abs=0.15)
    assert natural_W_m2K(0, length, upwards=True) == 0.0
    # The library knows the same correlation as McAdams' for hot plates facing up.
    viscosity, prandtl, conductivity = 1.5e-5, 0.71, 0.0256
    grashof = 9.80665 / 291.15 * 16 * length**3 / viscosity**2
    ours = natural_W_m2K(16, length, upwards=True) * length / conductivity
    assert ours == pytest.approx(ht.Nu_horizontal_plate_McAdams(prandtl, grashof, True), rel=0.03)
    assert natural_W_m2K(16, length, upwards=False) * length / conductivity == pytest.approx(
        ht.Nu_horizontal_plate_McAdams(prandtl, grashof, False), rel=0.03
    )


@pytest.mark.parametrize(("speed", "h"), [(0.2, 4.8), (0.5, 7.6), (1, 10.8), (2, 15.2), (5, 24.0)])
def test_moving_air(speed, h):
    # Check 15: 1 m/s along 135 mm gives 10.75 ± 0.3.
    assert forced_W_m2K(speed, 0.135) == pytest.approx(h, rel=0.03)
    assert forced_W_m2K(speed, 0.135) * 0.135 / 0.0257 == pytest.approx(
        ht.conv_external.Nu_horizontal_plate_laminar_Baehr(speed * 0.135 / 1.5e-5, 0.71), rel=0.05
    )


def test_radiation_and_the_sum():
    assert radiation_W_m2K(28.0, 12.0, 0.93) == pytest.approx(5.318, abs=0.01)
    top, bottom = (face.numbers() for face in faces(0.0, "rack"))
    # Still fridge, both effects: 11 above and 8 below at the start; 6-11 a face as it cools (check 51).
    assert film.py_func(top, 28.0, 12.0) == pytest.approx(11.4, abs=0.5)
    assert film.py_func(bottom, 28.0, 12.0) == pytest.approx(8.3, abs=0.4)
    assert 6 <= film.py_func(top, 14.0, 12.0) <= film.py_func(top, 28.0, 12.0)
    fan, _ = (face.numbers() for face in faces(1.0, "rack"))
    assert film.py_func(fan, 28.0, 12.0) > film.py_func(top, 28.0, 12.0) + 4
    assert film.py_func(faces(1.0, "tray")[1].numbers(), 28.0, 12.0) == pytest.approx(3.0)
    assert faces(1.0, "tray")[0] == faces(1.0, "rack")[0]
    assert film(faces(1.0, "stacked")[0].numbers(), 28.0, 12.0) == pytest.approx(3.0)


def test_nonsense():
    with pytest.raises(ImpossibleInput):
        forced_W_m2K(-1.0, 0.1)
    with pytest.raises(ImpossibleInput):
        faces(0.0, "floating")
