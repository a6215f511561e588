"""What the enthalpy kernel refuses, by field."""

import numpy as np
import pytest

from bloomless.errors import ImpossibleInput
from bloomless.numerics.compiled import inlined, kernel, threaded
from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row

CURVE = EnthalpyCurve.sensible(2e6)


@pytest.mark.parametrize(
    ("knots_C", "knots_J"), [([1.0], [2.0]), ([0.0, 1.0], [0.0]), ([1.0, 0.0], [0.0, 1.0]), ([0.0, 1.0], [1.0, 1.0])]
)
def test_curves(knots_C, knots_J):
    with pytest.raises(ImpossibleInput):
        EnthalpyCurve(np.array(knots_C), np.array(knots_J))


@pytest.mark.parametrize("layers", [((0.0,), (3,), (0.2,)), ((0.01,), (0,), (0.2,)), ((0.01,), (3,), (-1.0,))])
def test_rows(layers):
    with pytest.raises(ImpossibleInput):
        planar_row(*layers)


@pytest.mark.parametrize(("until_s", "step_s"), [([], 1.0), ([0.0], 1.0), ([2.0, 1.0], 1.0), ([1.0], 0.0)])
def test_times(until_s, step_s):
    with pytest.raises(ImpossibleInput):
        march(
            planar_row((0.01,), (3,), (0.2,)),
            (CURVE,),
            20.0,
            film_W_m2K=(10.0, 0.0),
            outside_C=(10.0, 10.0),
            until_s=np.array(until_s),
            step_s=step_s,
        )


# So small a kernel has nothing to do side by side, and says so where it is compiled anew.
@pytest.mark.filterwarnings("ignore::numba.core.errors.NumbaPerformanceWarning")
@pytest.mark.parametrize("how", [kernel, inlined, threaded])
def test_a_kernel_carries_the_fingerprint_of_all_it_is_made_of(how):
    def twice(x: float) -> float:
        return 2.0 * x

    made = how(twice)
    assert made(2.5) == 5.0
    stamp = made._cache._cache_file._source_stamp
    assert isinstance(stamp, str)
    assert len(stamp) == 32
