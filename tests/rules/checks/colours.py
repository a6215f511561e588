"""Colours and dusts by market, over the years."""

from datetime import date

from bloomless.rules.common import colours
from bloomless.rules.common.review import review
from rules import foods as f
from rules.checks.register import DARK, TODAY, D, check, more


@check(37, "Reg. (EC) 1333/2008 Annex V, 21 CFR 101.22(k), both from memory")
def red_40(on):
    law = on(TODAY)
    piece = f.food(f.chocolate(*DARK), f.chocolate((f.CB, 1), (f.colour("E 129"), 0.1), role="decoration", name="dots"))
    assert colours.southern_colours(piece, "eu", law) == ("allura red AC",)
    said = review(piece, "eu", TODAY, law=law).label.statements.attention
    assert said == "allura red AC: may have an adverse effect on activity and attention in children"
    assert colours.colour_names(f.colour("E 129"), "us", law) == ("Red 40",)
    assert colours.colour_names(f.colour("E 129 lake"), "us", law) == ("Red 40 Lake",)
    facts = {
        "southern": True,
        "warned": False,
        "pigment": "E 129",
        "listed": True,
        "colour": "dye",
        "section": "dots",
        "group_three_mg_kg": D(10),
        "pearl_on_iron_oxide": False,
    }
    for j in ("eu", "uk"):
        assert {x.rule for x in law.judge(j, "colours", facts)} == {f"{j}.colour.six"}


def _coloured(pigment, where, grams, jurisdiction, law, standardized=True, kind="colour"):
    dye = (f.colour(pigment, kind=kind), grams)
    if where == "mass":
        piece = f.food(f.chocolate(*DARK, dye))
    else:
        piece = f.food(f.chocolate(*DARK), f.chocolate((f.CB, 0.001), dye, role="decoration", name="layer"))
    return {
        (x.rule, str(x.severity)) for x in colours.judge_colours(piece, jurisdiction, law, standardized=standardized)
    }


@check(38, "Reg. (EU) 2022/63; 21 CFR 73.350(c)(2), 73.575(c)(2)")
def titanium_and_mica(on):
    law = on(TODAY)
    assert ("eu.colour.titanium", "block") in _coloured("E 171", "layer", 0.5, "eu", law)
    assert ("eu.colour.pearl", "block") in _coloured("E 555", "layer", 0.5, "eu", law)
    assert _coloured("E 555+E 172", "layer", 0.5, "eu", law) == set()
    assert _coloured("E 171", "layer", 0.5, "uk", law) == set()
    assert _coloured("E 555", "layer", 0.5, "uk", law) == set()
    # the US: up to 1 and 1.25 % on a layer that is no standardized food
    assert _coloured("E 171", "layer", 0.99, "us", law, standardized=False) == set()
    assert _coloured("E 171", "layer", 1.03, "us", law, standardized=False) == {("us.colour.titanium_share", "block")}
    assert _coloured("E 555", "layer", 1.25, "us", law, standardized=False) == set()
    assert _coloured("E 555", "layer", 1.29, "us", law, standardized=False) == {("us.colour.mica_share", "block")}
    for pigment in ("E 171", "E 555"):
        assert ("us.colour.in_standardized", "block") in _coloured(pigment, "mass", 0.5, "us", law)
        assert _coloured(pigment, "layer", 0.5, "us", law, kind="dust") == {("us.colour.on_standardized", "warn")}
        assert _coloured(pigment, "layer", 0.5, "us", law) == set()
    # before Reg. (EU) 2022/63 bit, titanium was a colour like others
    assert _coloured("E 171", "layer", 0.5, "eu", on(date(2022, 8, 7))) == set()


@check(39, "FDA advice on decorative products")
def dust_without_list(on):
    law = on(TODAY)
    dust = f.colour(kind="dust", known=False)
    piece = f.food(f.chocolate(*DARK), f.chocolate((dust, 0.1), role="decoration", name="dust"))
    for j in ("us", "eu", "uk"):
        found = colours.judge_colours(piece, j, law, standardized=True)
        assert {(x.rule, str(x.severity)) for x in found} == {(f"{j}.dust.no_list", "block")}


US_COLOURS = {
    "E 129": "Red 40",
    "E 129 lake": "Red 40 Lake",
    "E 102": "Yellow 5",
    "E 102 lake": "Yellow 5 Lake",
    "E 110": "Yellow 6",
    "E 110 lake": "Yellow 6 Lake",
    "E 133": "Blue 1",
    "E 133 lake": "Blue 1 Lake",
    "E 132": "Blue 2",
    "E 127": "Red 3",
    "E 120": "carmine",
    "E 100": "colored with turmeric",
    "E 160a": "colored with beta-carotene",
    "E 160b": "colored with annatto",
    "E 160c": "colored with paprika",
    "E 162": "colored with beet juice",
    "E 163": "colored with fruit juice",
    "spirulina": "colored with spirulina extract",
    "E 150a": "caramel color",
    "E 171": "titanium dioxide (artificial color)",
    "E 172": "iron oxide (artificial color)",
    "E 555": "mica-based pearlescent pigments (artificial color)",
    "E 170": "calcium carbonate (artificial color)",
}


CERTIFIED = {
    "E 129",
    "E 129 lake",
    "E 102",
    "E 102 lake",
    "E 110",
    "E 110 lake",
    "E 133",
    "E 133 lake",
    "E 132",
    "E 127",
}


EU_COLOURS = {
    "E 100": "curcumin",
    "E 102": "tartrazine",
    "E 104": "quinoline yellow",
    "E 110": "sunset yellow FCF",
    "E 120": "carmines",
    "E 122": "carmoisine",
    "E 124": "ponceau 4R",
    "E 129": "allura red AC",
    "E 132": "indigotine",
    "E 133": "brilliant blue FCF",
    "E 140": "chlorophylls",
    "E 141": "copper complexes of chlorophylls",
    "E 150a": "plain caramel",
    "E 153": "vegetable carbon",
    "E 160a": "carotenes",
    "E 160c": "paprika extract",
    "E 160e": "beta-apo-8'-carotenal",
    "E 162": "beetroot red",
    "E 163": "anthocyanins",
    "E 170": "calcium carbonate",
    "E 172": "iron oxides and hydroxides",
    "E 174": "silver",
    "E 175": "gold",
}


SIX = {"E 102", "E 104", "E 110", "E 122", "E 124", "E 129"}


@more
def every_colour_is_named(on):
    law = on(TODAY)
    pearls = {"E 171": "titanium dioxide", "E 555": "potassium aluminium silicate (carrier of pearls)"}
    for jurisdiction, words in (("us", US_COLOURS), ("eu", EU_COLOURS), ("uk", EU_COLOURS | pearls)):
        for pigment, word in words.items():
            assert colours.colour_names(f.colour(pigment), jurisdiction, law) == (word,), (jurisdiction, pigment)
            assert not [x for x in _layer(pigment, jurisdiction, law) if x.rule.endswith("not_listed")]
        assert [x.rule for x in _layer("E 999", jurisdiction, law)] == [f"{jurisdiction}.colour.not_listed"]
    for jurisdiction in ("eu", "uk"):
        for pigment in EU_COLOURS:
            piece = f.food(f.chocolate((f.colour(pigment), 1), role="decoration"))
            assert bool(colours.southern_colours(piece, jurisdiction, law)) is (pigment in SIX)
    assert {r["e_number"] for r in law.rows("us.colours") if r["certified"]} == CERTIFIED


def _layer(pigment, jurisdiction, law, grams=0.0001):
    piece = f.food(
        f.chocolate((f.CB, 100)), f.chocolate((f.CB, 1), (f.colour(pigment), grams), role="decoration", name="x")
    )
    return colours.judge_colours(piece, jurisdiction, law, standardized=False)


@more
def colours_came_and_went(on):
    assert colours.colour_names(f.colour("E 127"), "us", on(date(2027, 1, 15))) == ("Red 3",)
    assert colours.colour_names(f.colour("E 127"), "us", on(date(2027, 1, 16))) == ("E 127",)
    assert colours.colour_names(f.colour("E 171"), "eu", on(date(2022, 8, 7))) == ("titanium dioxide",)
    assert colours.colour_names(f.colour("E 171"), "eu", on(date(2022, 8, 8))) == ("E 171",)
    law = on(TODAY)
    # 500 mg of the six in 1 kg of layer
    assert not [x for x in _layer("E 129", "eu", law, grams=0.0005) if x.rule == "eu.colour.sum"]
    assert [x for x in _layer("E 129", "eu", law, grams=0.00052) if x.rule == "eu.colour.sum"]
