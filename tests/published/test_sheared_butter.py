"""Induction of sheared cocoa butter at 20, 22 and 24 °C: rheology study, abstract (seen): directions."""

from held_melt import induction_s


def test_longest_at_24_C():
    for shear in (25.0, 50.0, 100.0):
        cold, middle, warm = (induction_s(t, shear_1_s=shear) for t in (20.0, 22.0, 24.0))
        assert warm > middle > cold


def test_falls_from_25_to_100_per_second():
    assert induction_s(24.0, shear_1_s=25.0) > induction_s(24.0, shear_1_s=50.0) > induction_s(24.0, shear_1_s=100.0)
