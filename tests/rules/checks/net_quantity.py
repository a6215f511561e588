"""Net quantity: 76/211/EEC, Handbook 133, heights of figures, filling targets."""

import pytest

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.rules.common.filling import filling_target
from bloomless.rules.eu import net_quantity as eu_net
from bloomless.rules.us import net_quantity as us_net
from rules.checks.register import TODAY, D, check, more, near


@check(41, "Directive 76/211/EEC Annex I 2.4; the step of 0.1 g from memory")
def tolerable_errors(on):
    law = on(TODAY)
    for qn, expected in (
        (10, "0.9"),
        (40, "3.6"),
        (50, "4.5"),
        (75, "4.5"),
        (100, "4.5"),
        (150, "6.8"),
        (200, "9"),
        (250, "9"),
        (400, "12"),
        (750, "15"),
        (51, "4.5"),
        (49, "4.5"),
        (101, "4.6"),
        (98, "4.5"),
        (103, "4.7"),
        (196, "8.9"),
        (290, "9"),
        (310, "9.3"),
        (490, "14.7"),
        (510, "15"),
        (990, "15"),
        (1030, "15.5"),
        (2000, "30"),
        (300, "9"),
        (9900, "148.5"),
        (5, "0.5"),
        (48, "4.4"),
        (208, "9"),
        (90, "4.5"),
    ):
        assert eu_net.tolerable_negative_error_g(D(qn), law) == D(expected), qn
    for outside in (D("4.9"), D(10_001)):
        with pytest.raises(ImpossibleInput):
            eu_net.tolerable_negative_error_g(outside, law)
    eu_net.tolerable_negative_error_g(D(10_000), law)


@check(42, "Directive 76/211/EEC Annex I 1.3")
def no_e_mark(on):
    law = on(TODAY)
    for net_g, far in ((90.9, 1), (91.0, 0)):
        assert eu_net.check_batch(D(100), [net_g], law).below_two_tne == far


@check(43, "Directive 76/211/EEC Annex II 2.3")
def mean_test(on):
    law = on(TODAY)
    near(D(eu_net.mean_limit_g(100.0, 1.0, 30, law)), "99.497", "0.0005")
    near(D(eu_net.mean_limit_g(100.0, 1.5, 30, law)), "99.245", "0.001")
    near(D(100 - eu_net.mean_limit_g(100.0, 1.0, 50, law)), "0.379", "0.0005")
    near(D(100 - eu_net.mean_limit_g(100.0, 1.0, 20, law)), "0.640", "0.0005")
    assert eu_net.reference_mean_test(D(100), law, batch=300, mean_g=99.4, sd_g=1.0)
    assert not eu_net.reference_mean_test(D(100), law, batch=300, mean_g=99.4, sd_g=1.5)
    # sample of 30 for 100 to 500 packs, of 50 above: 0.503·s and 0.379·s
    for batch, limit in ((490, 99.497), (510, 99.621), (500, 99.497), (100, 99.497)):
        assert eu_net.reference_mean_test(D(100), law, batch=batch, mean_g=limit - 0.002, sd_g=1.0), batch
        assert not eu_net.reference_mean_test(D(100), law, batch=batch, mean_g=limit + 0.002, sd_g=1.0), batch


@check(44, "NIST Handbook 133, table 2-5, from memory")
def variation_allowed(on):
    law = on(TODAY)
    for label, expected in (
        (30, "3.0"),
        (40, "3.6"),
        (100, "7.2"),
        (200, "10.8"),
        (36, "3.6"),
        (37, "3.6"),
        (35, "3.5"),
        (53, "3.6"),
        (54, "3.6"),
        (55, "5.4"),
        (80, "5.4"),
        (81, "5.4"),
        (82, "7.2"),
        (116, "7.2"),
        (117, "7.2"),
        (118, "9.0"),
        (154, "9.0"),
        (155, "10.8"),
        (208, "10.8"),
        (209, "12.7"),
        (263, "12.7"),
        (264, "14.5"),
        (317, "14.5"),
        (318, "16.3"),
        (381, "16.3"),
        (382, "18.1"),
        (426, "18.1"),
        (427, "19.9"),
        (489, "19.9"),
    ):
        near(us_net.maximum_allowable_variation_g(D(label), law), expected, "0")


@check(45, "NIST Handbook 133, section 2.3.7, from memory")
def handbook_mean(on):
    law = on(TODAY)
    with pytest.raises(OutsideValidity):
        us_net.maximum_allowable_variation_g(D(490), law)
    near(D(us_net.sample_correction(12, law)) * D("0.7"), "0.4445", "0.0005")
    assert not us_net.check_lot(D(100), law, summary=(12, -0.5, 0.7)).passes
    passed = us_net.check_lot(D(100), law, summary=(12, -0.5, 0.9))
    assert passed.passes
    near(D(passed.facts["mean_error_plus_limit_g"]), "0.0715", "0.0005")
    for n, factor in ((2, "8.985"), (5, "1.242"), (10, "0.715"), (24, "0.422"), (48, "0.290")):
        near(D(us_net.sample_correction(n, law)), factor, "0.0006")


@check(46, "Directive 76/211/EEC Annex I 3.1")
def figure_heights(on):
    law = on(TODAY)
    for net, mm in (
        (50, 2),
        (51, 3),
        (200, 3),
        (201, 4),
        (49, 2),
        (195, 3),
        (205, 4),
        (1000, 4),
        (1001, 6),
        (980, 4),
        (1020, 6),
    ):
        assert eu_net.figure_height_mm(D(net), law) == mm, net


@check(47, "21 CFR 101.7(i)")
def panel_heights(on):
    law = on(TODAY)
    for area, inches in (
        ("5", "0.0625"),
        ("6", "0.125"),
        ("26", "0.1875"),
        ("101", "0.25"),
        ("401", "0.5"),
        ("4.9", "0.0625"),
        ("5.1", "0.125"),
        ("25", "0.125"),
        ("24.5", "0.125"),
        ("25.5", "0.1875"),
        ("100", "0.1875"),
        ("98", "0.1875"),
        ("102", "0.25"),
        ("400", "0.25"),
        ("392", "0.25"),
        ("408", "0.5"),
    ):
        assert us_net.net_height_in(D(area), law) == D(inches), area
    assert us_net.net_height_in(D(5), law, blown=True) == D("0.125")


@check(48, "21 CFR 101.7(j); NIST SP 811 B.8")
def ounces(on):
    law = on(TODAY)
    assert us_net.net_words(D(100), law) == "Net Wt 3.52 oz (100 g)"
    assert us_net.net_words(D(85), law) == "Net Wt 2.99 oz (85 g)"
    assert us_net.net_words(D(681), law) == "Net Wt 24.02 oz (1 lb 8.02 oz; 681 g)"


@more
def double_sampling(on):
    law = on(TODAY)
    plan = eu_net.double_plan
    for batch, first, accept, reject, second, both, too_many in (
        (100, 30, 1, 3, 30, 4, 5),
        (500, 30, 1, 3, 30, 4, 5),
        (501, 50, 2, 5, 50, 6, 7),
        (3200, 50, 2, 5, 50, 6, 7),
        (3201, 80, 3, 7, 80, 8, 9),
        (490, 30, 1, 3, 30, 4, 5),
        (510, 50, 2, 5, 50, 6, 7),
        (3100, 50, 2, 5, 50, 6, 7),
        (3300, 80, 3, 7, 80, 8, 9),
    ):
        found = plan(batch, accept, law)
        assert (found.first, found.second, found.decision) == (first, second, "accept"), batch
        assert plan(batch, accept + 1, law).decision == "second"
        assert plan(batch, reject, law).decision == "reject"
        assert plan(batch, reject - 1, law).decision == "second"
        assert plan(batch, accept + 1, law, both - accept - 1).decision == "accept"
        assert plan(batch, accept + 1, law, too_many - accept - 1).decision == "reject"
    destructive = law.rows("eu.destructive_plan")[0]
    assert (destructive["sample"], destructive["accept"], destructive["reject"]) == (20, 1, 2)
    rows = {int(r["limit"]): (int(r["accept_both"]), int(r["reject_both"])) for r in law.rows("eu.double_plan")}
    assert rows == {500: (4, 5), 3200: (6, 7), 1_000_000: (8, 9)}
    with pytest.raises(ImpossibleInput):
        plan(99, 0, law)
    plan(101, 0, law)


@more
def handbook_samples(on):
    law = on(TODAY)
    for lot, sample, short in (
        (1, 1, 0),
        (11, 11, 0),
        (12, 12, 0),
        (250, 12, 0),
        (251, 24, 0),
        (3200, 24, 0),
        (3201, 48, 1),
        (245, 12, 0),
        (260, 24, 0),
        (3100, 24, 0),
        (3300, 48, 1),
    ):
        assert us_net.sample_size(lot, law) == (sample, short), lot
    light = [100.0] * 11 + [92.7]
    assert "us.net.mav" in {x.rule for x in us_net.check_lot(D(100), law, net_g=light).findings}
    heavy = [100.9] * 11 + [92.9]
    assert us_net.check_lot(D(100), law, net_g=heavy).passes


@more
def packers_rules(on):
    law = on(TODAY)
    good = eu_net.check_batch(D(100), [100.1] * 40, law)
    assert good.passes
    assert (good.below_tne, good.below_two_tne) == (0, 0)
    # one pack of 40 below 95.5 is 2.5 %, two are 5 %
    assert eu_net.check_batch(D(100), [100.5] * 39 + [95.4], law).passes
    two = eu_net.check_batch(D(100), [100.5] * 38 + [95.4, 95.4], law)
    assert {x.rule for x in two.findings} == {"eu.net.rule_2"}
    three = eu_net.check_batch(D(100), [100.5] * 39 + [90.9], law)
    assert {x.rule for x in three.findings} == {"eu.net.rule_3"}
    # batches at the edge of weighing every pack
    for batch, rejected in ((96, True), (104, False)):
        assert bool(eu_net.reference_mean_test(D(100), law, batch=batch, mean_g=99.9, sd_g=3.0)) is rejected


@more
def filling_targets(on):
    law = on(TODAY)
    weighed = [100.0 + 0.5 * ((n * 7) % 11 - 5) for n in range(22)]
    union = filling_target(D(100), weighed, law, market="eu", batch=80)
    assert union.binding == "the mean"
    assert 100.2 < union.target_g < 100.5
    wide = [100.0 + 2.5 * ((n * 7) % 11 - 5) for n in range(22)]
    tail = filling_target(D(100), wide, law, market="eu", batch=1000)
    assert tail.binding == "the single pack"
    # 2.5 % of packs below 95.5 is z = 1.96; with 95 % chance in a batch of 1000 the share has to be smaller
    assert 95.5 + 1.96 * tail.sd_high_g < tail.target_g < 95.5 + 2.2 * tail.sd_high_g
    assert filling_target(D(100), weighed, law, market="us", batch=200).give_away_g == 0.0
