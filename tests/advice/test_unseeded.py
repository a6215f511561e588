"""Without seed: nothing is looked for in a hot bowl, warmed at the first thickness, used only after a film."""

from dataclasses import replace

import pytest
from known_bowl import bowl

from bloomless.advice.advise import advise
from bloomless.advice.orders import Order, Standing
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import Rated
from bloomless.advice.planner import _before_use
from bloomless.advice.sentences import why
from bloomless.advice.unseeded import in_the_cold, proved
from bloomless.advice.witness import backed, crystals_since_s, films, looks_thin, own_crystals, seed_lived, set_well
from bloomless.estimation.answers import Band
from bloomless.estimation.begin import begin
from bloomless.estimation.events import Bath, Composition, Look, Smear, Start, Table
from bloomless.estimation.passing import passed
from bloomless.estimation.take import take

BATHS = ("warm_bath", "cool_bath")
GLOSSY, POOR = Smear(300.0, 60.0, set_after_s=200.0, finish="glossy"), Smear(600.0, 60.0, finish="dull")
LATE = Smear(450.0, 60.0, surface="steel", set_after_s=390.0, finish="streaked")
SOON = Smear(200.0, 60.0, set_after_s=120.0)


def bare(warm_C=31.0, v=0.015, means=BATHS):
    start = Start(0.0, Composition("dark"), 800.0, temperature_C=warm_C, room_C=20.5, means=means)
    return bowl(warm_C, v, start=start, seeded=False)


def rated(*kinds):
    band = Band(1.0, 2.0, 3.0)
    return [Rated(Order(do), Outlook(bare()).members.chance, 1.0, 0.9, 2.0, band) for do in kinds]


def test_crystals_are_looked_for_only_where_they_may_be():
    assert crystals_since_s(bowl(40.0, 0.0, seeded=False)) is None
    assert crystals_since_s(bare(40.0, 0.0)) is None
    assert crystals_since_s(bare()) == 0.0
    assert crystals_since_s(take(bare(), Bath(30.0, "cool_bath", 18.0, 5.0))) == 30.0
    assert not backed(replace(bare(40.0, 0.0), backed=False), Outlook(bare(40.0, 0.0)))
    assert backed(take(replace(bare(), backed=False), Look(1.0, thickness="flowing")), Outlook(bare()))
    assert films(bare(40.0, 0.0)) == []
    assert not seed_lived(bare())
    assert own_crystals(bare())
    assert not own_crystals(bowl())
    direct = Start(0.0, Composition("dark"), 800.0, state="part_melted", temperature_C=36.0, means=BATHS)
    assert own_crystals(begin(direct, seed=1, members=160))


@pytest.mark.parametrize(("film", "well"), [(GLOSSY, True), (POOR, False), (LATE, False), (SOON, True)])
def test_a_film_sets_well_when_glossy_or_soon(film, well):
    assert set_well(bare(), film) is well
    assert set_well(bare(), replace(film, room_C=20.5)) is well


def test_it_is_used_after_a_film_and_cooled_again_after_a_poor_one():
    smear = Order("smear")
    assert proved(bare(), [], smear) is smear
    assert proved(bare(), [], None).do == "stir"
    assert proved(take(bare(), GLOSSY), [], None) is None
    poor = take(bare(), POOR)
    assert proved(poor, rated("stir", "cool_bath"), smear).do == "cool_bath"
    assert proved(poor, rated("stir"), smear).do == "stir"
    assert proved(take(poor, Bath(620.0, "cool_bath", 18.0, 5.0)), [], smear) is smear
    assert _before_use(bare(), Standing(), Outlook(bare()), [], smear_allowed=True).do == "smear"
    assert _before_use(bare(), Standing(), Outlook(bare()), [], smear_allowed=False).do == "stir"


def test_after_a_poor_film_it_is_cooled_until_it_thickens():
    def asked(belief, do="stir"):
        found = in_the_cold(Order(do), belief, Outlook(belief))
        return None if found is None else found.do

    assert asked(bare(27.0, 0.001)) is None
    cold = take(take(bare(27.0, 0.001), Bath(1.0, "cool_bath", 18.0, 1.0)), POOR)
    assert asked(cold, "add_seed") is None
    assert asked(cold) == "look"
    seen = take(cold, Look(601.0, thickness="flowing"))
    assert asked(seen) == "cool_bath"
    assert asked(take(seen, Bath(602.0, "cool_bath", 18.0, 5.0))) == "stir"
    assert asked(take(seen, Look(603.0, thickness="thick")), "melt_again") == "warm_bath"
    stone = take(take(bare(27.0, 0.001, means=("table",)), POOR), Look(601.0, thickness="thin"))
    assert asked(stone) == "table"
    room = take(take(bare(27.0, 0.001, means=("warm_bath",)), POOR), Look(601.0, thickness="thin"))
    assert asked(room) == "stir"
    assert asked(passed(take(bare(), POOR), 601.0)) in {None, "look"}
    warm = take(bare(33.0, 0.001), Smear(30.0, 10.0, finish="dull"))
    assert asked(warm) is None


def test_a_thin_bowl_is_smeared_before_it_is_used():
    lived = take(bowl(v=0.005), Look(60.0, lumps="none", thickness="thick"))
    assert _before_use(lived, Standing(), Outlook(lived), [], smear_allowed=True) is None
    thin = take(lived, Look(70.0, lumps="none", thickness="thin"))
    assert looks_thin(thin)
    assert _before_use(thin, Standing(), Outlook(thin), [], smear_allowed=True).do == "smear"


def test_a_bowl_that_was_seeded_is_not_melted_again():
    start = Start(0.0, Composition("dark"), 800.0, state="pieces", temperature_C=31.0, room_C=20.5, means=BATHS)
    belief = begin(start, seed=1, members=160)
    assert advise(belief)[0].next.do == "heat_on"
    assert advise(take(belief, Table(5.0, 0.3, seconds=10.0)))[0].next.do != "heat_on"


def test_reasons_name_what_is_not_there_yet():
    none, some = Outlook(bare(25.0, 0.0)).numbers, Outlook(bare(35.0, 0.02)).numbers
    assert why(Order("stir"), none).startswith("No form V yet")
    assert why(Order("add_seed"), none).startswith("No form V yet")
    assert why(Order("add_seed"), some).startswith("About")
    assert "of themselves" in why(Order("cool_bath"), none)
    assert "seed would die" in why(Order("cool_bath"), some)
