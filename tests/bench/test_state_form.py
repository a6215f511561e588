"""A state with other fields has another form, however deep the field lies."""

from dataclasses import dataclass, make_dataclass

from bloomless.bench.session import BenchState
from bloomless.bench.state_form import _parts, form_of


@dataclass
class Inner:
    mass_g: float


def outer(part):
    return make_dataclass("Outer", [("parts", tuple[part, ...]), ("by_name", dict[str, part] | None)])


def test_a_field_more_deep_inside_is_another_form():
    other = make_dataclass("Inner", [("mass_g", float), ("size_mm", float)])
    renamed = make_dataclass("Inner", [("heft_g", float)])
    plain = make_dataclass("Inner", [("mass_g", float)])
    assert form_of(outer(Inner)) != form_of(outer(other))
    assert form_of(outer(plain)) != form_of(outer(renamed))
    assert form_of(outer(plain)) == form_of(outer(plain))


def test_the_form_of_a_bench_knows_all_it_is_made_of():
    parts = {part.__name__ for part in _parts(BenchState, set())}
    assert {"Belief", "Standing", "Given", "Order", "Alert", "Smear", "Correct", "Ensemble", "Watch"} <= parts
    assert len(form_of(BenchState)) == 10
