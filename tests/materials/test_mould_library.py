"""The library of moulds, and moulds to and from documents."""

import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.mould_library import SHAPES, library, mould_from, mould_to, words_of


def test_every_mould_of_the_library_holds_what_its_name_says():
    assert len(library()) >= 15
    assert set(words_of()) == set(library())
    assert library()["bar-60"].piece_g(1250) == pytest.approx(60, abs=2)
    assert library()["tablet-100"].piece_g(1250) == pytest.approx(100, abs=3)
    assert library()["bar-thick-130"].piece_g(1250) == pytest.approx(130, abs=3)
    assert library()["snack-bar-40"].piece_g(1250) == pytest.approx(40, abs=3)
    assert library()["thin-tablet-80"].piece_g(1250) == pytest.approx(80, abs=3)


@pytest.mark.parametrize("name", sorted(library()))
def test_there_and_back(name):
    mould = library()[name]
    assert mould_from(name, mould_to(mould)) == mould


def test_free_volume_and_defaults():
    own = mould_from("mine", {"shape": "free", "measured_ml": 8, "depth_mm": 14, "opening_cm2": 7.5, "cavities": 10})
    assert (own.wall.name, own.wall_mm) == ("polycarbonate", 2.2)
    assert mould_to(own)["shape"] == "free"


@pytest.mark.parametrize(
    "document",
    [
        {"shape": "hemisphere", "radius_mm": "wide"},
        {"shape": "hemisphere"},
        {"shape": "hemisphere", "radius_mm": True},
        {"shape": "hemisphere", "radius_mm": 15, "cavities": 2.5},
        {"shape": "hemisphere", "radius_mm": 15, "cavities": True},
    ],
)
def test_impossible(document):
    with pytest.raises(ImpossibleInput):
        mould_from("x", document)


def test_unknown():
    with pytest.raises(UnknownName):
        mould_from("x", {"shape": "blob"})
    with pytest.raises(UnknownName):
        mould_from("x", {"shape": "hemisphere", "radius_mm": 15, "material": "granite"})
    assert set(SHAPES) == {"frustum", "hemisphere", "cap", "cone", "cylinder", "hollow", "free"}
