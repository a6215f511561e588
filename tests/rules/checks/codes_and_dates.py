"""GS1 identifiers, forms of the date, lot marks."""

from datetime import date

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.rules.common import dates, gs1
from rules.checks.register import TODAY, D, check, more


@check(49, "GS1 General Specifications 7.9")
def check_digits(on):
    on(TODAY)
    assert gs1.check_digit("950600013435") == 2
    assert gs1.check_digit("629104150021") == 3
    assert gs1.check_digit("9638507") == 4


@check(50, "GS1 General Specifications 7.9")
def gtin_14(on):
    on(TODAY)
    assert gs1.check_digit("1950600013435") == 9
    assert gs1.checked_gtin("19506000134359")


@check(51, "GS1 General Specifications 7.9")
def wrong_gtin(on):
    assert not gs1.checked_gtin("6291041500214")
    assert {x.rule for x in gs1.judge_gtin("6291041500214", on(TODAY))} == {"gs1.gtin.check"}
    assert gs1.judge_gtin("6291041500213", on(TODAY)) == ()


@check(52, "GS1 General Specifications 7.12; reading day 00 from memory")
def day_00(on):
    law = on(TODAY)
    assert gs1.date_from_yymmdd("270200", law, today=TODAY) == date(2027, 2, 28)
    # 2026: 76 is 50 years ahead, 77 is 51 ahead and belongs to the century before
    assert gs1.date_from_yymmdd("760101", law, today=TODAY) == date(2076, 1, 1)
    assert gs1.date_from_yymmdd("770101", law, today=TODAY) == date(1977, 1, 1)


@check(53, "GS1 syntax dictionary, AI 310n")
def net_mass_element(on):
    on(TODAY)
    assert gs1.mass_element(D("85.9")) == ("3103", "000085")  # 0.085 kg, never above the truth


@check(54, "Reg. (EU) 1169/2011 Annex X 1(a)–(c)")
def date_forms(on):
    law = on(TODAY)
    for months, form in (
        (2, "day_month"),
        (12, "month_year"),
        (24, "year"),
        (3, "day_month"),
        ("3.05", "month_year"),
        (18, "month_year"),
        ("18.1", "year"),
    ):
        assert dates.date_form(D(months), law) == form, months


@check(55, "Directive 2011/91/EU Art. 2, 4, 5, from memory")
def lot_due(on):
    law = on(TODAY)
    assert not dates.lot_mark_due("day_month_year", law)
    assert dates.lot_mark_due("month_year", law)
    facts = {
        "date_known": True,
        "sale": "prepacked",
        "printed_form": "month_year",
        "lawful_forms": {"month_year"},
        "lot_due": True,
        "lot": "",
        "lot_known": False,
        "lot_distinct": False,
        "moist_filling": False,
        "keeps_because": False,
    }
    for j in ("eu", "uk"):
        assert {x.rule for x in law.judge(j, "dates", facts)} == {f"{j}.lot.missing"}
        wrong = facts | {"lot": "26-1", "lot_known": True}
        assert {x.rule for x in law.judge(j, "dates", wrong)} == {f"{j}.lot.prefix"}
        assert law.judge(j, "dates", facts | {"lot_due": False}) == ()
    assert not dates.lot_mark_due("", law, largest_surface_cm2=D("9.9"))
    assert dates.lot_mark_due("", law, largest_surface_cm2=D(10))


IDENTIFIERS = {
    "00": ("SSCC", 18, False, True, False),
    "01": ("GTIN", 14, False, True, False),
    "02": ("CONTENT", 14, False, True, False),
    "10": ("BATCH/LOT", 20, True, False, False),
    "11": ("PROD DATE", 6, False, True, True),
    "13": ("PACK DATE", 6, False, True, True),
    "15": ("BEST BEFORE", 6, False, True, True),
    "16": ("SELL BY", 6, False, True, True),
    "17": ("USE BY", 6, False, True, True),
    "21": ("SERIAL", 20, True, False, False),
    "30": ("VAR. COUNT", 8, True, True, False),
    "37": ("COUNT", 8, True, True, False),
    "310": ("NET WEIGHT (kg)", 6, False, True, False),
    "320": ("NET WEIGHT (lb)", 6, False, True, False),
    "414": ("LOC No", 13, False, True, False),
    "422": ("ORIGIN", 3, False, True, False),
}


@more
def identifiers(on):
    law = on(TODAY)
    rows = law.table("gs1.identifiers").by("ai")
    assert {
        k: (r["title"], r["length"], r["variable"], r["numeric"], r["date"]) for k, r in rows.items()
    } == IDENTIFIERS
    both = ("01", "02")
    assert {k: r["needs"] for k, r in rows.items()} == {
        "00": (),
        "01": (),
        "02": ("37",),
        "10": both,
        "11": both,
        "13": both,
        "15": both,
        "16": both,
        "17": both,
        "21": ("01",),
        "30": both,
        "37": ("02+00",),
        "310": both,
        "320": both,
        "414": (),
        "422": both,
    }
    assert {k: r["bars"] for k, r in rows.items() if r["bars"]} == {"01": ("02", "37")}
    gtin = ("01", "09506000134352")
    assert gs1.element_string([("10", "AB12"), gtin, ("15", "270331")], law) == "(01)09506000134352(15)270331(10)AB12"
    scanned = "0109506000134352" + "15270331" + "10AB12\x1d" + "3103000085"
    assert gs1.parse_element_string(scanned, law) == (gtin, ("15", "270331"), ("10", "AB12"), ("3103", "000085"))
    for wrong in (
        [gtin, ("10", "A" * 21)],
        [gtin, ("15", "2703")],
        [gtin, ("30", "x")],
        [("01", "09506000134351")],
        [gtin, ("10", "lot é")],
        [("99", "1")],
    ):
        with pytest.raises(ImpossibleInput):
            gs1.element_string(wrong, law)
    assert {r["prefix"] for r in law.rows("gs1.predefined")} == {
        "00",
        "01",
        "02",
        "03",
        "04",
        *(str(n) for n in range(11, 21)),
        *(str(n) for n in range(31, 37)),
        "41",
    }


@more
def shop_numbers(on):
    law = on(TODAY)
    for prefix in ("02", *(str(n) for n in range(20, 30))):
        data = prefix + "0000000001"
        gtin = data + str(gs1.check_digit(data))
        assert {x.rule for x in gs1.judge_gtin(gtin, law)} == {"gs1.gtin.restricted"}, prefix
        assert gs1.judge_gtin(gtin, law, sold_outside=False) == ()
    for prefix in ("01", "03", "19", "30"):
        data = prefix + "0000000001"
        assert gs1.judge_gtin(data + str(gs1.check_digit(data)), law) == ()
