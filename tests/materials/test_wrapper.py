"""A wrapper's numbers back to a composition: the model couvertures lie inside the ranges; contradictions are named."""

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.materials.chocolates import melting_shift_K
from bloomless.materials.ingredients import ingredient_library
from bloomless.materials.wrapper import Wrapper, chocolate_for_the_bowl, chocolate_from_wrapper

LIBRARY = ingredient_library()
COUVERTURES = [
    ("dark_55", "dark", 55), ("dark_64", "dark", 64), ("dark_70", "dark", 70), ("dark_85", "dark", 85),
    ("milk_33", "milk", 33), ("milk_38", "milk", 38), ("milk_45", "milk", 45),
    ("white_28", "white", 28), ("white_33", "white", 33),
]  # fmt: skip
CHECKED = (
    "fat_g",
    "cocoa_butter_g",
    "milk_fat_g",
    "sucrose_g",
    "fat_free_cocoa_solids_g",
    "milk_solids_nonfat_g",
    "protein_g",
)


def printed(key):
    c = LIBRARY[key].composition
    return {"fat_g": round(c.fat_g), "sugars_g": round(c.sugars_g), "protein_g": round(c.protein_g, 1)}


@pytest.mark.parametrize("with_table", [False, True])
@pytest.mark.parametrize(("key", "kind", "cocoa_pct"), COUVERTURES)
def test_the_truth_lies_in_the_range(key, kind, cocoa_pct, with_table):
    found = chocolate_from_wrapper(
        Wrapper(kind, cocoa_pct, **(printed(key) if with_table else {})), key="mine", name="Mine"
    )
    assert found.composition.added_up_g == pytest.approx(100, abs=0.3)
    for part in CHECKED:
        truth = getattr(LIBRARY[key].composition, part)
        low, high = found.ranges.get(part, (0, 0))
        assert low - 0.9 <= truth <= high + 0.9, part
        assert low - 1e-3 <= getattr(found.composition, part) <= high + 1e-3, part


def test_more_print_means_less_doubt():
    bare = chocolate_from_wrapper(Wrapper("milk", 38), key="m", name="M")
    full = chocolate_from_wrapper(Wrapper("milk", 38, **printed("milk_38")), key="m", name="M")
    milk = chocolate_from_wrapper(Wrapper("milk", 38, milk_solids_pct=24, **printed("milk_38")), key="m", name="M")
    widths = [i.ranges["cocoa_butter_g"][1] - i.ranges["cocoa_butter_g"][0] for i in (bare, full)]
    assert widths[1] < widths[0]
    assert full.composition.fat_g == pytest.approx(37.7, abs=0.8)
    assert milk.composition.milk_solids_nonfat_g + milk.composition.milk_fat_g == pytest.approx(23.5, abs=1)


def test_order_of_the_list_narrows():
    free = chocolate_from_wrapper(Wrapper("milk", 45, fat_g=40), key="m", name="M")
    told = chocolate_from_wrapper(
        Wrapper("milk", 45, fat_g=40, order=("sugar", "cocoa butter", "cocoa mass", "milk powder")), key="m", name="M"
    )
    assert told.ranges["milk_solids_nonfat_g"][1] <= free.ranges["milk_solids_nonfat_g"][1]
    assert told.ranges["sucrose_g"][0] >= free.ranges["sucrose_g"][0]


def test_printed_carbohydrate_is_without_fibre():
    c = LIBRARY["dark_70"].composition
    found = chocolate_from_wrapper(
        Wrapper("dark", 70, fat_g=43, carbohydrate_g=round(c.carbohydrate_g - c.fibre_g), fibre_g=round(c.fibre_g)),
        key="d",
        name="D",
    )
    assert found.composition.sucrose_g == pytest.approx(c.sucrose_g, abs=1.5)


def test_contradiction_is_named():
    with pytest.raises(ImpossibleInput) as caught:
        chocolate_from_wrapper(Wrapper("dark", 70, fat_g=43, sugars_g=60), key="d", name="D")
    assert caught.value.field in ("sugars_g", "cocoa_pct", "fat_g")


@pytest.mark.parametrize(
    "make",
    [
        lambda: Wrapper("ruby", 50),
        lambda: Wrapper("dark"),
        lambda: Wrapper("dark", 170),
        lambda: Wrapper("dark", 70, fat_g=-1),
        lambda: Wrapper("dark", 70, order=("gold",)),
    ],
)
def test_what_cannot_be_printed(make):
    with pytest.raises(ImpossibleInput):
        make()


def test_it_feeds_the_bowl():
    bowl = chocolate_for_the_bowl(chocolate_from_wrapper(Wrapper("milk", 38, fat_g=38), key="m", name="M"))
    assert bowl.kind == "milk"
    assert bowl.fat_share == pytest.approx(0.38, abs=0.01)
    assert chocolate_for_the_bowl(LIBRARY["dark_64"]).kind == "dark"
    gianduja = chocolate_for_the_bowl(LIBRARY["gianduja_milk"])
    assert gianduja.kind == "milk"
    assert melting_shift_K(gianduja) < melting_shift_K(bowl)
