"""A session keeps every promise of the contract: ids, late events, corrections, resuming, answers in order."""

import json
import math
from dataclasses import replace

import pytest

from bloomless.bench.log import BenchLog
from bloomless.bench.session import Bench
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.estimation import events as ev
from bloomless.estimation.begin import usual_priors
from bloomless.sources.sourced import Grade, Sourced

MEMBERS = 128
START = ev.Start(0.0, ev.Composition("dark"), 800.0, temperature_C=40.0)


def bench(*events, start=START):
    session = Bench.start(start, seed=3, members=MEMBERS)
    for event in events:
        session.take(event)
    return session


def same(one, other):
    return one.estimate() == other.estimate()


def test_a_late_action_changes_history_as_if_it_had_been_told_in_time():
    readings = [ev.Reading(60.0 * k, 39.0 - 0.5 * k) for k in range(1, 9)]
    seed = ev.Seed(130.0, 90.0)
    in_time = bench(*readings[:2], seed, *readings[2:])
    late = bench(*readings, seed)
    assert same(in_time, late)
    assert not same(in_time, bench(*readings))


def test_a_correction_replays_and_the_old_event_stays_visible():
    events = [ev.Reading(60.0, 39.5), ev.Seed(90.0, 300.0), ev.Reading(120.0, 36.0)]
    session = bench()
    for number, event in enumerate(events):
        session.take(event, event_id=f"n{number}")
    session.take(ev.Correct(130.0, "n1", ev.Seed(90.0, 120.0)), event_id="fix")
    assert same(session, bench(events[0], ev.Seed(90.0, 120.0), events[2]))
    session.take(ev.Correct(131.0, "n1", None))
    assert same(session, bench(events[0], events[2]))
    assert [told.id for told in session.told] == ["start", "n0", "n1", "n2", "fix", "e6"]


def test_the_start_can_be_corrected():
    session = bench(ev.Reading(60.0, 39.5))
    heavier = ev.Start(0.0, ev.Composition("dark"), 1500.0, temperature_C=40.0)
    session.take(ev.Correct(61.0, "start", heavier))
    assert same(session, bench(ev.Reading(60.0, 39.5), start=heavier))


def test_wrong_corrections_are_named():
    session = bench(ev.Reading(60.0, 39.5))
    with pytest.raises(UnknownName):
        session.take(ev.Correct(61.0, "nobody", None))
    with pytest.raises(ImpossibleInput):
        session.take(ev.Correct(61.0, "start", None))
    session.take(ev.Correct(61.0, "e2", None), event_id="fix")
    with pytest.raises(ImpossibleInput):
        session.take(ev.Correct(62.0, "fix", None))


def test_order_of_time_is_held():
    session = bench(ev.Reading(4000.0, 30.0))
    with pytest.raises(ImpossibleInput) as caught:
        session.take(ev.Reading(3990.0, 30.0))
    assert caught.value.code == "goes_back"
    with pytest.raises(ImpossibleInput) as caught:
        session.take(ev.Seed(2000.0, 10.0))
    assert caught.value.code == "too_late"
    session.take(ev.Reading(3990.0, 30.0, probe="2"))
    with pytest.raises(Misuse, match="new bowl"):
        session.take(START)
    session.take(ev.Finish(4010.0))
    with pytest.raises(Misuse, match="finished"):
        session.take(ev.Ask(4020.0))
    assert session.finished


def test_a_smear_told_later_counts_for_the_bowl_it_was_taken_from():
    result = ev.Smear(600.0, 300.0, set_after_s=240.0, finish="glossy")
    readings = [ev.Reading(60.0 * k, 33.0 - 0.2 * k) for k in range(1, 10)]
    told = bench(*readings[:5], ev.Smear(300.0, 300.0), *readings[5:], result)
    untold = bench(*readings, result)
    assert math.isclose(told.estimate().chance_in_temper, untold.estimate().chance_in_temper, abs_tol=0.05)


def test_a_kept_state_goes_on_as_if_nothing_had_happened():
    events = [ev.Reading(30.0 * k, 40.0 - 0.3 * k) for k in range(1, 12)]
    whole = bench(*events)
    half = bench(*events[:6])
    since = whole.told[7:]
    assert same(whole, Bench.resumed(half.state(), since=since))


def test_a_kept_state_corrects_what_was_told_before_it():
    """As if it had never been put away, and from the newest older state instead of the whole bench."""
    events = [ev.Reading(30.0 * k, 40.0 - 0.3 * k) for k in range(1, 24)]
    whole, states = bench(), []
    for event in events:
        whole.take(event)
        states.append(whole.state())
    asked = []

    def earlier():
        for state in reversed(states[:-1]):
            asked.append(len(state.told))
            yield state

    again = Bench.resumed(states[-1], earlier=earlier)
    correction = ev.Correct(700.0, "e20", ev.Reading(570.0, 33.0))
    for session in (whole, again):
        session.take(correction, event_id="fix")
    assert same(whole, again)
    assert asked == [23, 22, 21, 20, 19]  # newest first, until one from before what is corrected
    for session in (whole, again):
        session.take(ev.Correct(701.0, "start", replace(START, mass_g=900.0)), event_id="fix 2")
    assert same(whole, again)


def test_a_kept_state_remembers_what_a_kitchen_taught():
    learned = replace(
        usual_priors(START.chocolate), top_factor=Sourced(4.0, "1", 1.01, "assumed", Grade.ASSUMED, "factor")
    )
    whole = Bench(START, seed=3, members=MEMBERS, priors=learned)
    for k in range(1, 4):
        whole.take(ev.Reading(60.0 * k, 40.0 - k), event_id=f"r{k}")
    again = Bench.resumed(whole.state())
    for session in (whole, again):
        session.take(ev.Correct(200.0, "r1", None), event_id="fix")
    assert same(whole, again)


def test_an_answer_of_later_leaves_the_bowl_where_it_is():
    session, asked = bench(ev.Reading(60.0, 39.5)), bench(ev.Reading(60.0, 39.5))
    before = session.estimate()
    later, advice = session.answer_at(120.0)
    assert later == asked.take(ev.Ask(120.0))
    assert advice.next.do == asked.advise().next.do
    assert session.estimate() == before
    assert session.answer_at(0.0)[0] == before


def test_what_is_done_after_an_answer_of_later_counts_as_done():
    """The screen answers a silent bowl every quarter of a minute; the order shown is done all the same once told."""
    session = bench(ev.Reading(60.0, 39.5), ev.ProbeCheck(61.0, "ice", 0.0, 0.0))
    order = session.advise().next
    assert order.do == "cool_bath"
    _, again = session.answer_at(80.0)
    assert again.next == order
    session.take(ev.Bath(85.0, "cool_bath", order.bath_C, order.seconds))
    assert session.advise().next.do == "stir"
    assert session.standing.carried_out_at_s == 85.0


@pytest.fixture
def bathed():
    """A bowl whose order, a cold bath, was carried out after an early stir had been told: session and order."""
    session = bench(ev.Reading(60.0, 39.5), ev.ProbeCheck(61.0, "ice", 0.0, 0.0))
    order = session.advise().next
    session.take(ev.Bath(85.0, "cool_bath", order.bath_C, order.seconds), event_id="bath")
    assert session.advise().next.id == f"{order.id}-wait"
    return session, order


def test_an_order_whose_act_is_taken_back_stands_again(bathed):
    session, order = bathed
    session.take(ev.Correct(90.0, "bath", None))
    assert session.advise().next == order
    session.take(ev.Bath(95.0, "cool_bath", order.bath_C, order.seconds))
    assert session.advise().next.id == f"{order.id}-wait"
    assert session.standing.carried_out_at_s == 95.0


def test_an_order_whose_act_was_another_gives_way_to_a_new_one(bathed):
    session, order = bathed
    session.take(ev.Correct(90.0, "bath", ev.Add(85.0, 60.0, 40.0)))
    assert session.advise().next.id not in (order.id, f"{order.id}-wait")
    assert session.standing.carried_out_at_s is None


def test_a_late_act_neither_carries_an_order_out_nor_counts_twice(bathed):
    session, order = bathed
    session.take(ev.Stir(30.0))
    assert session.advise().next.id == f"{order.id}-wait"
    assert session.standing.carried_out_at_s == 85.0
    session.take(ev.Correct(91.0, "bath", None))
    session.take(ev.Bath(40.0, "cool_bath", 18.0, 10.0))
    assert session.advise().next.id not in (order.id, f"{order.id}-wait"), "begun before the order: planned anew"
    assert session.standing.carried_out_at_s is None


def test_few_members_foresee_nearly_the_same():
    session = bench(ev.Reading(60.0, 39.5))
    many, few = (session.forecast([], 4.0, members=members)[-1] for members in (None, 64))
    assert math.isclose(many.temperature_C.p50, few.temperature_C.p50, abs_tol=0.4)


def test_forecast_looks_ahead_and_leaves_the_bowl_alone():
    session = bench(ev.Reading(60.0, 39.5))
    before = session.estimate()
    ahead = session.forecast([ev.Bath(70.0, "cool_bath", 15.0, 60.0)], 5.0)
    assert len(ahead) == 11
    assert ahead[-1].temperature_C.p50 < session.forecast([], 5.0)[-1].temperature_C.p50
    assert session.estimate() == before
    for minutes, actions in [(300.0, []), (5.0, [ev.Seed(1.0, 5.0)])]:
        with pytest.raises(ImpossibleInput):
            session.forecast(actions, minutes)


def test_the_log_answers_what_is_due_in_order():
    log = BenchLog(members=MEMBERS)
    start = {"at": 0, "what": "start", "chocolate": "milk", "mass_g": 500, "temperature_C": 44, "id": "s"}
    assert log.feed('{"at": 0, "what": "ask"}')["error"]["code"] == "not_started"
    assert log.feed(json.dumps(start)) is None
    assert log.feed(json.dumps(start)) is None, "a repeated id changes nothing"
    asked = log.feed('{"at": 0, "what": "ask"}')
    assert {"melt_g", "seed_now_g", "seed_reserve_g", "size_mm", "minutes"} == set(asked["before"])
    assert log.feed("") is None
    assert log.feed('{"at": 5, "what": "stir"}') is None
    reading = log.feed('{"at": 9, "what": "reading", "temperature_C": 43.0, "id": "r"}')
    assert (reading["line"], reading["at"]) == (7, 9.0)
    again = log.feed('{"at": 9, "what": "reading", "temperature_C": 50.0, "id": "r"}')
    assert again["temperature_C"] == reading["temperature_C"], "a repeated reading is answered, not believed"
    refused = log.feed('{"at": 9, "what": "seed", "mass_g": -1}')
    assert refused == {
        "line": 9,
        "error": {
            "code": "out_of_range",
            "field": "mass_g",
            "value": -1,
            "text": "mass_g: -1 is not accepted; give a number from 0.01 to 50000.",
            "accepted": "a number from 0.01 to 50000",
        },
    }
