"""Solid fat of tempered cocoa butter: the curve of the bowl against the table it was fitted to.

Values of a West African butter, from memory (Shukla 1995).
"""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import nnls

from bloomless.materials.fats import solid_fat_table, spline_bends
from bloomless.physics.laws import solid_share, solid_share_of, solid_slope
from bloomless.sources import bibliography

T = np.linspace(10.0, 36.0, 521)


def solid_fat(temperature_C):
    """The monotone curve through the table; none above its end."""
    x, y = zip(*((at, share.value) for at, share in solid_fat_table()), strict=True)
    return np.where(temperature_C > x[-1], 0.0, PchipInterpolator(x, y)(np.minimum(temperature_C, x[-1])))


def test_the_table_is_monotone_and_in_range():
    assert np.all(np.diff(solid_fat(T)) <= 1e-12)
    at = dict(solid_fat_table())
    assert 0.70 <= at[20.0].value <= 0.83  # check 27
    assert 0.23 <= at[30.0].value <= 0.58
    assert at[35.5].value == 0.0
    assert 0.0 < solid_share(35.0) <= 0.03
    assert all(share.source in bibliography() for share in at.values())


def test_the_step_uses_the_same_curve():
    np.testing.assert_allclose(solid_share_of(T), solid_fat(T), atol=0.008)
    np.testing.assert_allclose(solid_share_of(T), [solid_share(float(t)) for t in T], atol=1e-12)
    slope = np.array([solid_slope(float(t)) for t in T])
    assert np.all(slope <= 0.0)
    np.testing.assert_allclose(slope, np.gradient(solid_share_of(T), T), atol=6e-3)
    assert solid_share(35.5) == 0.0
    assert solid_share(-40.0) == pytest.approx(solid_share(8.0), abs=1e-12)


def test_the_slopes_are_the_least_squares_ones():
    knots = np.array(spline_bends()[0])

    def hat(i):  # integral of a hat of slope from T upward
        fine = np.linspace(knots[i - 1], knots[i + 1], 801)
        height = np.interp(fine, knots[i - 1 : i + 2], [0.0, 1.0, 0.0])
        area = np.concatenate([[0.0], np.cumsum((height[1:] + height[:-1]) / 2 * np.diff(fine))])
        return area[-1] - np.interp(grid, fine, area)

    grid = np.linspace(10.0, 35.5, 250)
    found, _ = nnls(np.column_stack([hat(i) for i in range(1, len(knots) - 1)]), solid_fat(grid))
    inclines = np.diff(np.concatenate([[0.0], found, [0.0]])) / np.diff(knots)
    bends = 0.5 * np.diff(np.concatenate([[0.0], -inclines, [0.0]]))
    np.testing.assert_allclose(spline_bends()[1], -bends, atol=2e-5)
