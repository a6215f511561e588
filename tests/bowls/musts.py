"""The musts and must-nots of the scenarios of the job map, section 3: on codes and numbers, never on sentences."""

import scenarios as sc


def s1(answers):
    before = answers[0][2].before
    assert 100.0 <= before.seed_now_g <= 160.0
    assert 50.0 <= before.seed_reserve_g <= 90.0
    _, last, advice = answers[-1]
    assert advice.next.do != "add_seed"
    assert last.chance_in_temper > 0.25


def s2(answers):
    by_8 = sc.codes(answers[:3])
    assert by_8 & {"not_stirred_in", "probe_not_in_the_melt"}
    assert not {"warm_bath", "hot_air", "microwave"} & set(sc.orders(answers[:3]))
    assert answers[-1][1].temperature_C.p05 < 34.3
    assert answers[-1][1].temperature_C.p50 < 36.0


def s3(answers):
    at_12 = [est for event, est, _ in answers if event.at_s <= 13 / 12 * answers[-4][0].at_s and event.what != "ask"][
        :7
    ]
    assert max(est.chance_in_temper for est in at_12) < 0.55
    assert answers[-1][1].chance_in_temper < 0.3
    assert "use_it" not in sc.orders(answers)
    assert "thermometer_low_or_seed_dead" in sc.codes(answers[-3:-1])
    assert "thermometer_off" in {said.code for said in answers[-1][2].alerts}
    offered = {answers[-2][2].next.do, answers[-1][2].next.do, *(o.order.do for o in answers[-1][2].instead)}
    assert "add_seed" in {advice.next.do for _, _, advice in answers} | offered
    assert answers[-1][2].next.do != "melt_again"


def s4(answers):
    assert "room_hot" in sc.codes(answers[:1])
    assert "room_warm_for_smear" in sc.codes(answers[-1:])
    assert answers[-1][1].chance_in_temper > 0.3
    baths = [advice.next.bath_C for _, _, advice in answers if advice.next.do == "cool_bath"]
    assert all(bath >= 10.0 for bath in baths)


def s5(answers):
    assert "seed_doubtful" in sc.codes(answers[:2])
    before, after = answers[-3][1].chance_in_temper, answers[-1][1].chance_in_temper
    assert after < before - 0.2
    assert "use_it" not in sc.orders(answers)


def s6(answers):
    _, last, advice = answers[-1]
    assert last.seed_left_g.p50 > 80.0
    spoken = [a.next for _, _, a in answers[-2:]]
    assert any(o.do in {"warm_bath", "sieve"} for o in spoken)
    assert "add_seed" not in sc.orders(answers)
    assert all(o.seconds <= 70.0 for o in spoken if o.do == "warm_bath")
    assert "lumps_will_not_melt" in sc.codes(answers)
    assert advice.next.bath_C is None or advice.next.bath_C <= 50.0


def s8(answers):
    _, last, _ = answers[-1]
    assert sc.codes(answers) & {"gap", "second_start_after_gap"}
    assert last.form_v_pct_of_fat.p05 < 3.0 < last.form_v_pct_of_fat.p95
    assert last.chance_in_temper > 0.02
    assert "microwave" not in sc.orders(answers)
    assert "mould_soon" in sc.codes(answers)


def s9(answers):
    assert answers[-1][2].next.do == "stop"
    assert "water_in" in sc.codes(answers)
    assert "ganache" in answers[-1][2].next.why
    assert answers[-1][1].chance_in_temper < 0.05


def s10(answers):
    assert "hot_spot" in sc.codes(answers)
    assert answers[-1][1].temperature_C.p95 < 40.0
    assert not any(a.next.do == "microwave" for _, _, a in answers[1:])


def s10b(answers):
    assert answers[-1][2].next.do == "stop"
    assert "scorched" in sc.codes(answers)


def s12(answers):
    by_40 = [answer for answer in answers if answer[0].at_s <= 40.5 * 60.0 * answers[-1][0].at_s / (48 * 60.0)]
    assert sc.codes(by_40) & {"thickening", "too_thick"}
    assert answers[-1][1].form_v_pct_of_fat.p50 > answers[1][1].form_v_pct_of_fat.p50 + 0.5
    assert "room_warmer" not in sc.codes(answers)


def s13(answers):
    assert any(a.next.do in {"warm_bath", "hot_air", "sieve"} for _, _, a in answers[-2:])
    assert "add_seed" not in sc.orders(answers)
    assert all(a.next.bath_C is None or a.next.bath_C <= 50.0 for _, _, a in answers)
    assert answers[-1][2].minutes_to_temper is not None


def s7_dark(answers):
    event, last, _ = answers[-1]
    assert last.temperature_C.p05 < event.temperature_C < last.temperature_C.p95


def s7_milk(answers):
    # At one number dark is in mid-window and milk at its upper edge: they are never judged alike.
    s7_dark(answers)
    assert "too_cool" not in sc.codes(answers)
    assert "warm_bath" not in sc.orders(answers[-1:])


MUSTS = {
    "S1": s1,
    "S2": s2,
    "S3": s3,
    "S4": s4,
    "S5": s5,
    "S6": s6,
    "S7_DARK": s7_dark,
    "S7_MILK": s7_milk,
    "S8": s8,
    "S9": s9,
    "S10": s10,
    "S10B": s10b,
    "S12": s12,
    "S13": s13,
}


def held(name, variation):
    """Whether every must of a scenario held in one variation; the first is the story itself."""
    try:
        MUSTS[name](sc.play(getattr(sc, name), variation))
    except AssertionError:
        return False
    return True
