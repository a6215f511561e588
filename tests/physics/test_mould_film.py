"""Natural and forced convection on a face are blended by cubes [moulding sheet]."""

import numpy as np
import pytest

from bloomless.physics.mould_kernel import film

FACE = {"still": (2.0, 0.0), "fan": (0.0, 9.0), "both": (2.0, 9.0)}


def test_convections_blend_by_cubes():
    of = {name: getattr(film, "py_func", film)(np.array([*h, 0.0, 0.0]), 30.0, 14.0) for name, h in FACE.items()}
    assert of["both"] == pytest.approx((of["still"] ** 3 + of["fan"] ** 3) ** (1 / 3))
    assert max(of["still"], of["fan"]) < of["both"] < of["still"] + of["fan"]
