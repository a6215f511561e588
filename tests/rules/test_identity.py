"""Distance to a limit, the change that cures it, and what happens when a composition is not known."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules import law_of
from bloomless.rules.common.identity import cures, facts_for, judge_name, verdicts
from bloomless.rules.common.review import Confirmed, review
from bloomless.rules.food import Nutrients, Substance, Use
from rules import foods as f

TODAY = date(2026, 11, 25)
LAW = law_of(TODAY)
NEARLY_MILK = f.chocolate((f.M, 9), (f.CB, 22), (f.WMP, 22), (f.S, 46.5), (f.L, 0.5))


def test_the_distance_is_told_in_points():
    verdict = judge_name("us.milk", facts_for("us", NEARLY_MILK, LAW), LAW)
    need = next(need for need in verdict.needs if need.rule.id == "us.milk.liquor")
    assert need.margin_pct == Decimal("9.108") - 10


def test_the_cure_is_the_least_change():
    # 10 % liquor is 9.881 g of cocoa mass at 54 % fat: 0.881 g more, told in tenths upward
    change = next(c for c in cures("us.milk", NEARLY_MILK, LAW) if (c.more, c.less) == ("cocoa mass", "sugar"))
    assert change.pct == Decimal("0.9")
    assert change.words == "0.9 g more cocoa mass and as much less sugar in 100 g"


@given(
    st.sampled_from(["us.milk", "eu.milk", "us.bittersweet", "eu.chocolate"]), st.integers(4, 20), st.integers(5, 30)
)
def test_every_cure_really_cures(name, mass, milk):
    section = f.chocolate((f.M, mass), (f.CB, 20), (f.WMP, milk), (f.S, 80 - mass - milk))
    for change in cures(name, section, LAW)[:3]:
        moved = section.mixing_g * change.pct / 100
        by_name = {use.substance.names["en"]: use for use in section.uses}
        less, more = by_name[change.less], by_name[change.more]
        uses = tuple(replace(u, mass_g=u.mass_g - moved) if u is less else u for u in section.uses)
        tried = replace(section, uses=(*uses, Use(substance=more.substance, mass_g=moved)))
        assert judge_name(name, facts_for(name.split(".")[0], tried, LAW), LAW).passes


@given(st.lists(st.integers(1, 50), min_size=4, max_size=4))
def test_shares_do_not_depend_on_the_size_of_the_batch(masses):
    pairs = list(zip((f.M, f.CB, f.WMP, f.S), masses, strict=True))
    small, large = f.chocolate(*pairs), f.chocolate(*((s, g * 37) for s, g in pairs))
    for jurisdiction in ("us", "eu"):
        a, b = facts_for(jurisdiction, small, LAW), facts_for(jurisdiction, large, LAW)
        assert all(abs(a[k] - b[k]) < Decimal("1e-9") for k in a if k.endswith("_pct") and isinstance(a[k], Decimal))


def test_names_that_hold_stand_first():
    order = [v.passes for v in verdicts("eu", NEARLY_MILK, LAW)]
    assert order == sorted(order, reverse=True)


def test_an_unknown_name_is_answered_with_near_ones():
    with pytest.raises(UnknownName, match=r"us\.milk"):
        judge_name("us.mlik", {}, LAW)


@pytest.mark.parametrize(
    ("components", "said"),
    [({}, "nobody has stated its composition"), ({"cacao_fat": Decimal("0.4")}, "sum to 40.0 %"),
     ({"cacao_fat": Decimal("1.2"), "other": Decimal("-0.2")}, "below zero")],
)  # fmt: skip
def test_an_unknown_composition_blocks_with_the_reason(components, said):
    bought = Substance(
        key="couverture", kind="chocolate", names={"en": "couverture"}, components=components, nutrients=Nutrients()
    )
    for market in ("us", "eu", "uk", "ni"):
        found = review(f.food(f.chocolate((bought, 100))), market, TODAY)
        blocks = [x.message for x in found.findings if x.rule.endswith("identity.unknown")]
        assert blocks
        assert said in blocks[0]
        assert found.blocked


def test_a_bought_chocolate_rests_on_its_suppliers_word():
    shares = {"cacao_fat": "0.42", "cocoa_nf_dry": "0.28", "sweetener_nutritive": "0.3"}
    bought = f._substance("dark_chocolate", "chocolate", shares, supplier_names=frozenset({"us.bittersweet"}))
    bar = f.food(f.chocolate((bought, 100)), reserved={"us": "us.bittersweet"})
    found = {x.rule: x for x in review(bar, "us", TODAY).findings}
    assert "supplier's word" in found["us.identity.vouched"].message
    without = f.food(f.chocolate((replace(bought, supplier_names=frozenset()), 100)), reserved={"us": "us.bittersweet"})
    assert "us.bittersweet.liquor" in {x.rule for x in review(without, "us", TODAY).findings if x.severity == "block"}


def test_unknown_nutrients_block_the_panel():
    unknown = replace(f.S, nutrients=None)
    found = review(f.food(f.chocolate((f.M, 50), (unknown, 50))), "eu", TODAY)
    assert any("nutrients of sugar" in x.message for x in found.findings)


def test_unstated_allergens_block():
    unknown = replace(f.S, allergens_known=False)
    found = review(f.food(f.chocolate((f.M, 50), (unknown, 50))), "us", TODAY, confirmed=Confirmed(frozenset()))
    assert "allergen.unstated" in {x.rule for x in found.findings if x.severity == "block"}


@pytest.mark.parametrize("name", ["Nut-free dark bar", "Free from gluten", "A safe treat", "Schokolade frei von Milch"])
def test_promises_nobody_can_keep_are_refused(name):
    found = review(f.food(f.chocolate((f.M, 50), (f.S, 50)), name=name), "us", TODAY)
    assert "allergen.claim" in {x.rule for x in found.findings if x.severity == "block"}


@pytest.mark.parametrize(("kind", "value"), [("kind", "gold"), ("components", {"gold": Decimal(1)})])
def test_a_substance_of_no_kind_is_refused(kind, value):
    with pytest.raises(ImpossibleInput):
        Substance(**{"key": "x", "kind": "sugar", "names": {"en": "x"}, kind: value})
