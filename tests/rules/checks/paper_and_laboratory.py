"""Sizes of symbols and of the US panel, and a laboratory's figures against the declared ones."""

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.rules.ca.nutrition import front_symbol
from bloomless.rules.common.laboratory import eu_laboratory, us_laboratory
from bloomless.rules.common.review import review
from bloomless.rules.food import Nutrients, Pack
from bloomless.sheets.codes import symbol
from bloomless.sheets.label_panels import panel_data
from rules import foods as f
from rules.checks.register import DARK, DARK_100, TODAY, D, more

GTIN = "09506000134352"
# kind: content, width and height at the usual module [mm], least module [mm], the same width in modules
SYMBOLS = {
    "ean13": (GTIN[1:], 113 * 0.33, 22.85, 0.264, 113),  # 95 bars and spaces, quiet zones of 11 and 7
    "gs1_128": (f"(01){GTIN}", 154 * 0.495, 32, 0.25, 154),  # start, FNC1, 8 pairs, check, stop: 134; 10 on either side
    "datamatrix": (f"(01){GTIN}", 34 * 0.4, 10 * 0.4, 0.25, 34),  # 8 × 32 and one module around
    "qr": ("L26K25A", 29 * 0.4, 29 * 0.4, 0.25, 29),  # version 1, 21 × 21, four modules around
}


@more
def sizes_of_symbols(on):
    # GS1 General Specifications 5.12, from memory
    law = on(TODAY)
    for kind, (content, wide, tall, least, modules) in SYMBOLS.items():
        made = symbol(kind, content, law)
        assert made.width_mm == pytest.approx(wide), kind
        assert made.height_mm == pytest.approx(tall), kind
        assert symbol(kind, content, law, module_mm=least).width_mm == pytest.approx(modules * least)
        with pytest.raises(ImpossibleInput):
            symbol(kind, content, law, module_mm=least * 0.99)
        assert f'd="M{ {"ean13": 11, "gs1_128": 10, "datamatrix": 1, "qr": 4}[kind] }' in made.svg  # the quiet zone


@more
def points_of_the_panel(on):
    # 21 CFR 101.9(d)(1)(iii), (d)(3) and (j)(13)(ii)(A), from memory
    law = on(TODAY)
    bar = f.food(f.chocolate(*DARK), pack=Pack(net_g=D(50), panel_in2=D(10)))
    label = review(bar, "us", TODAY, law=law).label
    for form, points in (("vertical", (8, 6, 22, 16, 10, 10)), ("linear", (8, 6, 14, 10, 9, 9)),
                         ("tabular", (8, 6, 14, 10, 9, 9))):  # fmt: skip
        found = panel_data(label, law, form, 100.0, 150.0)
        names = ("main", "small", "calories", "calories_word", "servings", "serving_size")
        assert tuple(found[name] for name in names) == points, form
        assert found["heading"] == (17 if form == "vertical" else 11)  # (d)(2): larger than all but the number


@more
def shares_of_compliance(on):
    # 21 CFR 101.9(g)(4), (5), from memory: 80 % of these at least, 120 % of those at most
    law = on(TODAY)
    true = Nutrients(fat=D(40), saturated=D(20), trans=D(20), carbohydrate=D(40), fibre=D(20), sugars=D(40),
                     added_sugars=D(40), protein=D(20), cholesterol_mg=D(50), sodium_mg=D(100), calcium_mg=D(100),
                     iron_mg=D(10), potassium_mg=D(200))  # fmt: skip
    at_most = ("fat", "saturated", "trans", "sugars", "added_sugars", "cholesterol_mg", "sodium_mg")
    for name in at_most:
        for share, right in (("1.2", True), ("1.21", False)):
            (line,) = us_laboratory(true, D(100), {name: getattr(true, name) * D(share)}, law)
            assert line.holds is right, (name, share)
    for name in ("carbohydrate", "fibre", "protein", "calcium_mg", "iron_mg", "potassium_mg"):
        for share, right in (("0.8", True), ("0.79", False), ("2", True)):
            (line,) = us_laboratory(true, D(100), {name: getattr(true, name) * D(share)}, law)
            assert line.holds is right, (name, share)
    # 4 × 20 + 4 × 40 + 9 × 40 = 600 kcal
    assert us_laboratory(true, D(100), {"calories": D(720)}, law)[0].holds
    assert not us_laboratory(true, D(100), {"calories": D(721)}, law)[0].holds
    # 0.3 g of trans fat prints as 0, and so does 0.4: no label can be righter
    low = Nutrients(trans=D("0.3"))
    assert us_laboratory(low, D(100), {"trans": D("0.4")}, law)[0].holds


@more
def tolerances_of_the_guidance(on):
    law = on(TODAY)
    # DARK_100 prints fat 43 g, sugars 30 g, salt 0.02 g: ± 8 g above 40, ± 20 % of 30, ± 0.375 g
    for name, found, right in (("fat", "51", True), ("fat", "51.1", False), ("fat", "34.9", False),
                               ("sugars", "36", True), ("sugars", "36.1", False), ("salt", "0.39", True),
                               ("salt", "0.4", False), ("saturated", "31.2", True), ("saturated", "31.3", False),
                               ("carbohydrate", "39.6", True), ("carbohydrate", "39.7", False)):  # fmt: skip
        (line,) = eu_laboratory(DARK_100, {name: D(found)}, law)
        assert line.holds is right, (name, found)


@more
def canadas_daily_values(on):
    # saturated and trans fat 20 g, sugars 100 g, sodium 2300 mg; 15 % in 40 g, from memory
    law = on(TODAY)
    for name, per_40g, words in (("saturated", "3", "saturated fat 15 %"), ("sugars", "15", "sugars 15 %"),
                                 ("sodium_mg", "345", "sodium 15 %")):  # fmt: skip
        at = Nutrients(**{name: D(per_40g) * D("2.5")})
        under = Nutrients(**{name: D(per_40g) * D("2.5") * D("0.99")})
        assert front_symbol(at, None, law) == (words,)
        assert front_symbol(under, None, law) == ()
    # a pack of 50 g is eaten at once: its own mass counts
    assert front_symbol(Nutrients(sugars=D(30)), D(50), law) == ("sugars 15 %",)
    assert front_symbol(Nutrients(sugars=D(30)), D(80), law) == ()
