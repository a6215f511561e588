"""Without seed: cooled until it is thick, warmed at once, thinned where it stays thick, used only after a film."""

from dataclasses import replace

import numpy as np
import pytest
from known_bowl import bowl

from bloomless.advice.advise import advise
from bloomless.advice.notes import notes
from bloomless.advice.orders import Order, Standing
from bloomless.advice.outlook import Outlook
from bloomless.advice.planner import _before_use, _lumps_first
from bloomless.advice.sentences import why
from bloomless.advice.unseeded import of_itself
from bloomless.advice.witness import (
    backed,
    crystals_since_s,
    film_given_up,
    films,
    looks_streaked,
    looks_thin,
    own_crystals,
    seed_lived,
    set_well,
)
from bloomless.estimation.begin import begin
from bloomless.estimation.events import Bath, Composition, Look, ProbeCheck, Remove, Seed, Sieve, Smear, Start, Table
from bloomless.estimation.take import take

BATHS = ("warm_bath", "cool_bath")
GLOSSY, POOR = Smear(300.0, 60.0, set_after_s=200.0, finish="glossy"), Smear(600.0, 60.0, finish="dull")
LATE = Smear(450.0, 60.0, surface="steel", set_after_s=390.0, finish="streaked")
SOON = Smear(200.0, 60.0, set_after_s=120.0)
STREAKED = replace(SOON, finish="streaked")
SMEAR = Order("smear")


def bare(warm_C=31.0, v=0.015, means=BATHS, state="melted"):
    start = Start(0.0, Composition("dark"), 800.0, temperature_C=warm_C, room_C=20.5, means=means)
    belief = bowl(warm_C, v, start=start, seeded=False)
    return replace(belief, start=replace(start, state=state))


def acted(belief, *acts):
    """The same bowl with acts on its list and nothing else changed: of the rule itself, not of the belief."""
    return replace(belief, acts=(*belief.acts, *acts), at_s=max(belief.at_s, *(act.at_s for act in acts)))


def asked(belief, smear=None):
    found = of_itself(belief, Outlook(belief), smear)
    return None if found is None else found.do


def test_crystals_are_looked_for_only_where_they_may_be():
    assert crystals_since_s(bowl(40.0, 0.0, seeded=False)) is None
    assert crystals_since_s(bowl(26.0, 0.002, seeded=False)) is None
    assert crystals_since_s(bowl(26.0, 0.1, seeded=False)) == 0.0
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


@pytest.mark.parametrize(
    ("film", "well"), [(GLOSSY, True), (POOR, False), (LATE, False), (SOON, True), (STREAKED, False)]
)
def test_a_film_sets_well_when_glossy_or_soon_and_never_with_streaks(film, well):
    assert set_well(bare(), film) is well
    assert set_well(bare(), replace(film, room_C=20.5)) is well


def test_it_is_cooled_in_steps_with_a_look_after_each():
    assert asked(bare(40.0, 0.0)) == "cool_bath"
    first = of_itself(bare(30.0, 0.0), Outlook(bare(30.0, 0.0)), None)
    far = of_itself(bare(38.0, 0.0), Outlook(bare(38.0, 0.0)), None)
    assert first.do == "cool_bath"
    assert first.seconds < far.seconds
    cold = bare(27.0, 0.0)
    assert asked(cold) == "look"
    flows = acted(cold, Look(200.0, thickness="flowing"))
    assert asked(flows) == "cool_bath"
    assert asked(acted(flows, Bath(205.0, "cool_bath", 18.0, 5.0))) == "look"
    again = acted(flows, Bath(205.0, "cool_bath", 18.0, 5.0), Look(212.0, thickness="flowing"))
    assert asked(again) == "stir"
    assert asked(replace(again, at_s=260.0)) == "look"
    coldest = acted(bare(21.0, 0.0), Look(200.0, thickness="flowing"))
    assert asked(coldest) == "stir"


def test_most_of_a_hot_bowl_goes_onto_the_stone_and_little_of_a_cold_one():
    hot, cold = bare(45.0, 0.0, means=("table",)), bare(30.0, 0.0, means=("table",))
    much, little = (of_itself(belief, Outlook(belief), None) for belief in (hot, cold))
    assert (much.do, little.do) == ("table", "table")
    assert much.share > little.share
    assert asked(bare(30.0, 0.0, means=())) == "stir"


def test_it_is_warmed_when_it_has_thickened_and_not_before():
    cold = bare(26.5, 0.004)
    assert asked(acted(cold, Look(20.0, thickness="flowing"))) == "stir"
    thick = acted(cold, Look(20.0, thickness="thick"))
    assert asked(thick) == "warm_bath"
    assert asked(acted(bare(26.5, 0.004, means=("cool_bath",)), Look(20.0, thickness="thick"))) == "stir"
    # A film that said there was nothing: the next thickness is looked at twice, a paste at once.
    after = acted(cold, POOR, Look(620.0, thickness="thick"))
    assert asked(after) != "warm_bath"
    assert asked(acted(after, Look(670.0, thickness="thick"))) == "warm_bath"
    assert asked(acted(cold, POOR, Look(620.0, thickness="paste"))) == "warm_bath"


def test_what_is_warm_is_proved_and_used():
    warm = acted(bare(31.0, 0.015), Look(20.0, lumps="none", thickness="thick"), Bath(25.0, "warm_bath", 42.0, 30.0))
    assert asked(warm) == "look"
    flows = acted(warm, Look(60.0, lumps="none", thickness="flowing"))
    assert asked(flows, SMEAR) == "smear"
    assert asked(flows) == "stir"
    good = acted(flows, GLOSSY, Look(310.0, lumps="none", thickness="flowing"))
    assert asked(good, SMEAR) == "use_it"
    assert asked(acted(good, Look(320.0, lumps="none", thickness="thick"))) in {"use_it", "warm_bath"}
    assert asked(acted(flows, LATE, Look(460.0, thickness="flowing")), SMEAR) == "cool_bath"
    assert asked(acted(bare(26.0, 0.0), POOR)) == "look"


def test_what_only_melt_can_warm_or_thin_is_left_to_the_plan():
    def cold(means, warm_C=28.0, v=0.05):
        return acted(bare(warm_C, v, means=means), Look(20.0, lumps="none", thickness="thick"))

    assert asked(cold(("melt", "cool_bath"))) is None
    assert advise(cold(("melt", "cool_bath")), Standing(look_ordered_at_s=0.0))[0].next.do == "add_melt"
    assert asked(cold(("melt", "cool_bath"), 31.0)) is None
    assert asked(cold(("melt", "warm_bath"))) == "warm_bath"
    assert asked(cold(("cool_bath",))) is not None
    flows = acted(cold(("melt", "cool_bath"), 31.0, 0.015), Look(30.0, lumps="none", thickness="flowing"))
    assert asked(flows) is not None


def test_good_films_do_not_speak_for_a_bowl_that_has_grown_cold():
    films_told = (GLOSSY, replace(GLOSSY, at_s=500.0, taken_at_s=310.0), Look(510.0, lumps="none", thickness="flowing"))

    def later(warm_C, chance):
        belief = acted(bare(warm_C, 0.015, means=()), Look(20.0, thickness="thick"), *films_told)
        outlook = Outlook(belief)
        outlook.__dict__["numbers"] = replace(outlook.numbers, chance=chance)
        return of_itself(belief, outlook, None).do, {
            one.code: one.text for one in notes(belief, outlook, Order("stir"))
        }

    assert later(31.0, 0.3)[0] == "use_it"
    order, said = later(28.6, 0.04)
    assert order == "stir"
    assert "no_means" in said
    direct = replace(bare(28.6, 0.015, means=()), start=replace(bare(28.6, means=()).start, state="part_melted"))
    direct = replace(direct, seeded_at_s=0.0)
    outlook = Outlook(direct)
    outlook.__dict__["numbers"] = replace(outlook.numbers, chance=0.04)
    assert any("nothing to warm it" in one.text for one in notes(direct, outlook, Order("stir")))


def test_who_tells_of_no_film_is_not_held_for_ever():
    warm = acted(bare(31.0, 0.018), Look(20.0, lumps="none", thickness="thick"), Bath(25.0, "warm_bath", 42.0, 30.0))
    flows = acted(warm, Smear(70.0, 70.0), Look(900.0, lumps="none", thickness="flowing"))

    def silent(belief, chance=0.9):
        outlook = Outlook(belief)
        outlook.__dict__["numbers"] = replace(outlook.numbers, chance=chance)
        return of_itself(belief, outlook, SMEAR, silent=True).do

    assert silent(flows) == "use_it"
    assert asked(flows, SMEAR) == "smear"
    # Not on reckoning alone, not a thin bowl, and not against a film.
    assert silent(flows, chance=0.7) == "smear"
    assert silent(acted(flows, Look(910.0, lumps="none", thickness="thin"))) == "smear"
    assert silent(acted(flows, LATE, Look(910.0, lumps="none", thickness="flowing"))) != "use_it"
    given_up = Standing(smear_ordered_at_s=100.0)
    assert film_given_up(flows, given_up)
    assert not film_given_up(flows, Standing(smear_ordered_at_s=400.0))
    assert not film_given_up(flows, Standing())
    assert not film_given_up(acted(flows, replace(GLOSSY, taken_at_s=110.0)), given_up)


def test_what_stays_thick_is_thinned_a_little_further_each_time():
    def thick_again(times):
        acts = [Look(20.0, thickness="thick")]
        for n in range(times):
            acts += [Bath(30.0 + 60.0 * n, "warm_bath", 42.0, 10.0), Look(60.0 + 60.0 * n, thickness="thick")]
        return acted(bare(32.8, 0.08), *acts)

    orders = [of_itself(belief, Outlook(belief), None) for belief in (thick_again(1), thick_again(4))]
    assert [order.do for order in orders] == ["warm_bath", "warm_bath"]
    assert orders[0].seconds < orders[1].seconds
    past = acted(bare(33.8, 0.08), Look(20.0, thickness="thick"))
    assert asked(past) == "stir"
    thin = acted(past, Look(30.0, lumps="none", thickness="flowing"))
    assert asked(thin) == "cool_bath"
    hot = replace(thin, snapshots=tuple(replace(s, mixed_C=np.full_like(s.mixed_C, 36.0)) for s in thin.snapshots))
    assert asked(hot) in {"cool_bath", "look"}


def test_a_few_lumps_are_no_reason_to_leave_it_thick():
    def seen(lumps, thickness="paste"):
        return asked(acted(bare(32.8, 0.08), Look(20.0, lumps=lumps, thickness=thickness)))

    assert seen("few") == seen("none") == seen("few", "thick") == "warm_bath"
    assert seen("many") != "warm_bath"
    assert seen("few", "flowing") != "warm_bath"


def test_part_melted_is_never_cooled_and_warmed_only_until_its_pieces_are_gone():
    begun = bare(36.0, 0.0, state="part_melted")
    assert asked(begun) == "stir"
    cool = replace(bare(29.0, 0.005, state="part_melted"), at_s=100.0)
    assert asked(cool) == "look"
    assert asked(acted(cool, Look(101.0, lumps="many"))) == "warm_bath"
    warm = replace(bare(32.5, 0.005, state="part_melted"), at_s=100.0)
    few = acted(warm, Look(101.0, lumps="few", thickness="flowing"))
    assert asked(few) == "stir"
    late = acted(replace(warm, at_s=800.0), Look(801.0, lumps="few", thickness="flowing"))
    assert asked(late) == "sieve"
    sieved = acted(late, Sieve(810.0, 60.0), Look(850.0, lumps="few", thickness="flowing"))
    assert asked(sieved, SMEAR) == "smear"
    gone = acted(warm, Look(90.0, lumps="few"), Look(101.0, lumps="none", thickness="flowing"))
    assert asked(gone, SMEAR) == "smear"
    assert asked(take(few, Seed(102.0, 50.0)), SMEAR) is None
    assert asked(bare(30.0, 0.0, state="pieces")) is None
    assert asked(bowl()) is None


def test_the_thermometer_of_what_is_part_melted_is_checked_while_its_pieces_take_the_heat():
    start = Start(0.0, Composition("dark"), 800.0, state="part_melted", temperature_C=36.0, room_C=20.5, means=BATHS)
    belief = begin(start, seed=1, members=160)
    assert advise(belief)[0].next.do == "check_thermometer"
    checked = take(belief, ProbeCheck(60.0, "ice", 0.0, 0.0))
    assert advise(checked)[0].next.do != "check_thermometer"


def test_lumps_are_looked_at_again_and_sieved_before_use():
    assert _lumps_first(bare(), Standing()) is None
    few = acted(bare(), Look(10.0, lumps="few"))
    assert _lumps_first(few, Standing()).do == "look"
    assert _lumps_first(few, Standing(look_ordered_at_s=5.0)).do == "sieve"
    again = acted(few, Sieve(20.0, 30.0), Look(30.0, lumps="few"))
    assert _lumps_first(again, Standing(look_ordered_at_s=25.0)) is None
    assert _before_use(few, Standing(look_ordered_at_s=5.0), Outlook(few), smear_allowed=True).do == "sieve"


def test_a_thin_bowl_is_smeared_before_it_is_used():
    lived = take(bowl(v=0.005), Look(60.0, lumps="none", thickness="thick"))
    assert _before_use(lived, Standing(), Outlook(lived), smear_allowed=True) is None
    thin = take(lived, Look(70.0, lumps="none", thickness="thin"))
    assert looks_thin(thin)
    assert _before_use(thin, Standing(), Outlook(thin), smear_allowed=True).do == "smear"
    # Streaks mean too few crystals, or unstable ones; what was not spoken of since stays so.
    streaked = take(take(lived, Look(70.0, lumps="none", streaks=True)), Look(80.0, lumps="none", thickness="flowing"))
    assert looks_streaked(streaked)
    assert _before_use(streaked, Standing(), Outlook(streaked), smear_allowed=True).do == "smear"
    even = take(streaked, Look(90.0, lumps="none", streaks=False))
    assert not looks_streaked(even)
    assert _before_use(even, Standing(), Outlook(even), smear_allowed=True) is None


def test_a_bowl_in_use_is_held_and_not_begun_again():
    used = take(take(bare(), Look(60.0, lumps="none", thickness="flowing")), Remove(70.0, 50.0))
    assert advise(used)[0].next.do == "use_it"


def test_a_bowl_that_was_seeded_is_not_melted_again():
    start = Start(0.0, Composition("dark"), 800.0, state="pieces", temperature_C=31.0, room_C=20.5, means=BATHS)
    belief = begin(start, seed=1, members=160)
    assert advise(belief)[0].next.do == "heat_on"
    assert advise(take(belief, Table(5.0, 0.3, seconds=10.0)))[0].next.do != "heat_on"


def test_reasons_name_what_is_not_there_yet():
    none, some = Outlook(bare(25.0, 0.0)).numbers, Outlook(bare(35.0, 0.02)).numbers
    assert "at 25.0 °C stirring lets them come" in why(Order("stir"), none)
    # In its window none come.
    assert "without seed they come below 29.3 °C" in why(Order("stir"), replace(none, temperature_C=30.4))
    assert why(Order("add_seed"), none).startswith("No lasting crystals (form V) yet")
    assert "cools the bowl from 35.0 °C" in why(Order("add_seed"), Outlook(bare(35.0, 0.0)).numbers)
    assert why(Order("add_seed"), some).startswith("About")
    assert "of themselves" in why(Order("cool_bath"), none)
    assert "still above" in why(Order("cool_bath"), some)


def test_a_chance_is_said_in_percent_as_on_the_screen():
    n = replace(Outlook(bare(31.0, 0.02)).numbers, chance=0.3)
    assert [why(Order(do), n).startswith("The chance is 30 %") for do in ("look", "smear", "melt_again")] == [True] * 3
    assert "30 %" in why(Order("use_it"), n)


def test_stirring_makes_nothing_surer_where_there_are_crystals_enough():
    n = replace(Outlook(bare(31.0, 0.02)).numbers, pieces_pct=0.0)
    assert "makes it sure" in why(Order("stir"), replace(n, form_v_pct=1.5))
    assert "plenty; stirring keeps it even" in why(Order("stir"), replace(n, form_v_pct=4.0))
    assert "too many" in why(Order("stir"), replace(n, form_v_pct=9.7))
