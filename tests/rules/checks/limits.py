"""Limits and small figures: cadmium, fillings, meat, alcohol, additives, traceability, markets."""

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.rules.common import allergens, gs1, hazards, markets
from bloomless.rules.common.identity import facts_for
from bloomless.rules.common.review import Confirmed, review
from bloomless.rules.eu import net_quantity as eu_net
from bloomless.rules.food import Pack
from rules import foods as f
from rules.checks.register import DARK, TODAY, D, check, more, near, passes


@check(56, "Reg. (EU) 2023/915 Annex I, cadmium")
def cadmium(on):
    law = on(TODAY)
    for family, tdcs, limit in (
        ("milk", "29", "0.10"),
        ("milk", "30", "0.30"),
        ("dark", "50", "0.80"),
        ("dark", "49.9", "0.30"),
        ("milk", "29.9", "0.10"),
        ("dark", "70", "0.80"),
        ("powder", "100", "0.60"),
    ):
        near(hazards.cadmium_limit_mg_kg(family, D(tdcs), law), limit, "0")


@check(57, "FDA Food Code 1-201.10(B), table B; 21 CFR 113.3, from memory")
def filling_086(on):
    law = on(TODAY)
    assert hazards.food_code_class(D("0.86"), D("5.5"), law) == "non_tcs"
    facts = {
        "has_filling": True,
        "filling_water": "moist",
        "filling_aw": D("0.86"),
        "filling_ph": D("5.5"),
        "food_code": "non_tcs",
    }
    found = {(x.rule, str(x.severity)) for x in law.judge("us", "hazards", facts) if not x.unknown}
    assert found == {("us.hazard.canned_line", "warn")}


@check(58, "Reg. (EC) 2073/2005 Annex I, note 8; FDA Food Code 1-201.10(B), table B")
def filling_093(on):
    law = on(TODAY)
    assert hazards.food_code_class(D("0.93"), D("4.9"), law) == "assess"
    facts = {
        "has_filling": True,
        "filling_water": "moist",
        "filling_aw": D("0.93"),
        "filling_ph": D("4.9"),
        "keeps_days": 60,
        "has_alcohol": False,
        "polyols_pct": D(0),
    }
    for j in ("eu", "uk"):
        assert f"{j}.hazard.listeria" not in {x.rule for x in law.judge(j, "hazards", facts)}


@check(59, "USDA-FSIS policy on small amounts of meat")
def meat(on):
    law = on(TODAY)
    for share, right in (("1.9", True), ("2.0", False)):
        found = {
            x.rule for x in law.judge("us", "hazards", {"has_meat": True, "cooked_meat_pct": D(share)}) if not x.unknown
        }
        assert ("us.hazard.meat" not in found) is right


@check(60, "21 U.S.C. 342(d)(2)")
def alcohol(on):
    law = on(TODAY)
    strength = hazards.alcohol_pct_vol(D("0.3"), D(100), D("1.2"))
    near(strength, "0.456", "0.0005")
    facts = {"has_alcohol": True, "state_permits": False, "alcohol_pct_vol": strength, "alcohol_from_extracts": True}
    assert not {x.rule for x in law.judge("us", "hazards", facts) if "alcohol" in x.rule}
    spirits = facts | {"alcohol_from_extracts": False}
    assert "us.hazard.alcohol_source" in {x.rule for x in law.judge("us", "hazards", spirits)}


@check(61, "21 CFR 1 subpart S, food traceability list")
def traceability_list(on):
    law = on(TODAY)
    paste = f._substance("pistachio_paste", "nut_paste", {"nut_ground_fine": "1"}, botanical="pistachio")
    seed = f._substance("sesame_paste", "seed_paste", {"other": "1"})
    for substance, flagged in ((paste, True), (seed, False)):
        piece = f.food(f.chocolate(*DARK), f.chocolate((substance, 5), role="filling", name="filling"))
        found = {x.rule for x in hazards.judge_hazards(hazards.hazard_facts(piece, law), "us", law)}
        assert ("us.hazard.trace_list" in found) is flagged


@check(62, "sheet rules and labels, section 4.2: rework")
def rework(on):
    law = on(TODAY)
    plain = f.food(f.chocolate(*DARK), rework_allergens=frozenset({"hazelnut"}))
    assert allergens.declared(allergens.allergens_in(plain), "us", law) == ("hazelnuts", "soy")
    confirmed = Confirmed(frozenset({"soy"}))
    found = {x.rule: str(x.severity) for x in review(plain, "us", TODAY, confirmed=confirmed, law=law).findings}
    assert found["allergen.changed"] == "block"


@check(63, "21 CFR 163.130(b)(4)")
def buttermilk_is_not_milk(on):
    law = on(TODAY)
    bar = f.chocolate((f.M, 12), (f.CB, 22), (f.WMP, 8), (f.BMP, 14), (f.S, 43.5), (f.L, 0.5))
    facts = facts_for("us", bar, law)
    near(facts["milk_fat_milk_pct"], "2.08")
    near(facts["milk_solids_milk_pct"], "7.76")
    assert not passes("us.milk", bar, law)


@check(64, "21 CFR 163.123(b)(6), 163.124(b)")
def too_much_lecithin(on):
    law = on(TODAY)
    assert not passes("us.bittersweet", f.chocolate((f.M, 45), (f.CB, 25), (f.S, 28.7), (f.L, 1.3)), law)
    assert passes("us.white", f.chocolate((f.CB, 26), (f.WMP, 24), (f.S, 48.7), (f.L, 1.3)), law)


@check(65, "GS1 syntax dictionary, pairings")
def pairings(on):
    law = on(TODAY)
    for elements in ([("10", "AB12")], [("01", "09506000134352"), ("37", "12")]):
        with pytest.raises(ImpossibleInput) as error:
            gs1.element_string(elements, law)
        assert error.value.code == "gs1_pairing"


@check(66, "Directive 76/211/EEC Annex II 1")
def small_batch(on):
    law = on(TODAY)
    assert eu_net.reference_mean_test(D(100), law, batch=80, mean_g=99.99)
    assert not eu_net.reference_mean_test(D(100), law, batch=80, mean_g=100.0)
    assert eu_net.reference_mean_test(D(100), law, batch=99, mean_g=99.99, sd_g=9.0)
    assert not eu_net.reference_mean_test(D(100), law, batch=102, mean_g=99.99, sd_g=9.0)


@more
def small_figures(on):
    law = on(TODAY)
    typed = {
        "eu.tne_step_g": "0.1",
        "eu.e_mark_mm": "3",
        "eu.smallest_net_g": "5",
        "eu.largest_net_g": "10000",
        "eu.all_packs_below": "100",
        "eu.mean_confidence": "0.995",
        "eu.packs_below_share": "2.5",
        "us.net_bottom_share": "30",
        "us.net_bottom_waived_in2": "5",
        "us.blown_extra_in": "0.0625",
        "us.wrapped_piece_oz": "0.5",
        "us.hb133_confidence": "0.975",
        "us.tail_pct": "2",
        "eu.water_named_pct": "5",
        "eu.compound_list_pct": "2",
        "us.small_type_in": "0.0625",
        "us.small_format_in2": "40",
        "us.energy_alcohol": "7",
        "us.liquor_factor": "2.2",
        "eu.lot_exempt_cm2": "10",
        "ca.reference_g": "40",
        "gs1.century_window": "51",
        "eu.salt_of_sodium": "2.5",
        "eu.x_height_mm": "1.2",
        "eu.x_height_small_mm": "0.9",
        "eu.x_height_small_below_cm2": "80",
        "eu.short_label_cm2": "10",
    }
    for key, value in typed.items():
        assert law.figure(key) == D(value), key
    assert abs(law.figure("us.oz_per_g") - D("0.035274")) < D("0.0000005")


@more
def additive_limits(on):
    law = on(TODAY)
    for e_number, limit in (("E 476", 5), ("E 442", 10), ("E 492", 10)):
        thing = f._substance("gum", "emulsifier", {"emulsifier": "1"}, e_number=e_number, function="emulsifier")
        for grams, right in ((limit, True), (limit * 1.02, False)):
            bar = f.food(f.chocolate((f.M, 600), (f.S, 400 - grams), (thing, grams)))
            found = {x.rule for x in review(bar, "eu", TODAY, law=law).findings}
            assert ("eu.list.additive_limit" not in found) is right, (e_number, grams)


@more
def canadas_symbol(on):
    rows = [(r["limit"], r["closed"], r["percent_dv"]) for r in on(TODAY).rows("ca.front_symbol")]
    assert rows == [(30, True, 10), (1_000_000, True, 15)]


@more
def food_code_tables(on):
    law = on(TODAY)
    for aw, ph, hot, right in (
        ("0.87", "7", False, True),
        ("0.879", "13.9", False, True),
        ("0.88", "5.0", False, True),
        ("0.88", "5.1", False, False),
        ("0.90", "5.0", False, True),
        ("0.90", "5.01", False, False),
        ("0.905", "4.6", False, True),
        ("0.92", "4.6", False, True),
        ("0.92", "4.61", False, False),
        ("0.93", "4.19", False, True),
        ("0.93", "4.2", False, False),
        ("0.92", "9", True, True),
        ("0.93", "5.6", True, True),
        ("0.93", "5.61", True, False),
        ("0.95", "5.6", True, True),
        ("0.951", "4.6", True, True),
        ("0.96", "4.61", True, False),
        ("0.99", "4.61", False, False),
        ("0.90", "4.9", False, True),
        ("0.895", "4.95", False, True),
        ("0.915", "4.55", False, True),
        ("0.91", "4.7", False, False),
        ("0.86", "6", False, True),
        ("1", "4.1", False, True),
        ("1", "4.5", True, True),
        ("0.90", "4.95", False, True),
        ("0.91", "6", True, True),
        ("0.945", "5.5", True, True),
        ("0.955", "5.5", True, False),
        ("0.925", "5.7", True, False),
    ):
        found = hazards.food_code_class(D(aw), D(ph), law, packed_hot=hot)
        assert (found == "non_tcs") is right, (aw, ph, hot)
    for key, limits in (
        ("us.food_code_a", (("0.92", "14"), ("0.95", "5.6"), ("1", "4.6"))),
        ("us.food_code_b", (("0.88", "14"), ("0.90", "5.0"), ("0.92", "4.6"), ("1", "4.2"))),
    ):
        assert [(r["limit"], r["ph_limit"]) for r in law.rows(key)] == [(D(a), D(b)) for a, b in limits]


@more
def cadmium_bands(on):
    law = on(TODAY)
    for family, tdcs, limit in (
        ("milk", "30.5", "0.30"),
        ("milk", "29.5", "0.10"),
        ("dark", "49.5", "0.30"),
        ("dark", "51", "0.80"),
    ):
        assert hazards.cadmium_limit_mg_kg(family, D(tdcs), law) == D(limit)


@more
def markets_have_a_jurisdiction(on):
    on(TODAY)
    assert {code: (m.jurisdiction, m.colours) for code, m in markets.MARKETS.items()} == {
        "us": ("us", "us"),
        "eu": ("eu", "eu"),
        "uk": ("uk", "uk"),
        "ni": ("uk", "eu"),
    }


@more
def whole_packs(on):
    law = on(TODAY)
    bar = f.chocolate((f.M, 45), (f.CB, 25), (f.S, 29.5), (f.L, 0.5))
    facts = Pack(net_g=D(12), largest_surface_cm2=D(40))
    found = {x.rule for x in review(f.food(bar, pack=facts), "us", TODAY, law=law).findings}
    assert "us.net.wrapped_piece" in found  # 12 g is 0.42 oz
