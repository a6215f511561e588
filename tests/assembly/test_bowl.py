"""A bowl at work, whoever is watching."""

from bloomless.assembly.bowls import Bowls
from bloomless.assembly.workers import Workers
from services.plain_craft import PlainMaker

START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0}


def test_what_was_received_is_taken_even_if_the_sender_is_gone(house):
    bowls = Bowls(house, PlainMaker())
    bowl, begun = bowls.begin(START, "s")
    begun.result(10)
    heard = []
    bowl.listen(lambda kind, number, _text: heard.append((kind, number)))
    with bowl._lock:  # the worker has to wait until the sender is gone
        gone = bowl.tell({"what": "seed", "mass_g": 100, "at": 5}, "tap")
        assert gone.cancel()
        later = bowl.tell({"what": "look", "lumps": "few", "at": 9}, "look")
    later.result(10)
    bowls.close()
    assert [event.id for event in house.log.events(bowl.name)] == ["s", "tap", "look"]
    assert ("told", 2) in heard
    assert ("state", 3) in heard


def test_a_silent_bowl_is_looked_at_again_and_nothing_is_stored(house, clock):
    bowls = Bowls(house, PlainMaker())
    bowl, begun = bowls.begin(START, "s")
    begun.result(10)
    clock.pass_(seconds=60)
    bowls.look_after()  # nobody watches
    assert len(bowl.trail.rows) == 1
    bowl.listen(lambda *_news: None)
    for seconds, looks in ((0, 1), (10, 1), (5, 2), (3600, 3), (30, 3), (60, 4)):
        clock.pass_(seconds=seconds)
        bowls.look_after()
        bowls.workers.close()
        bowls.workers = bowl.workers = Workers(1)
        assert sum(row[1] is None for row in bowl.trail.rows[1:]) == looks, seconds
    assert [event.id for event in house.log.events(bowl.name)] == ["s"]
    assert bowl.advice["at"] == bowl.now_s()
    bowls.close()


def test_a_wait_that_is_over_is_looked_at_at_once(house, clock):
    bowls = Bowls(house, PlainMaker())
    bowl, begun = bowls.begin(START, "s")
    begun.result(10)
    bowl.listen(lambda *_news: None)
    bowls.workers.close()
    for order, seconds, due in (("stir", 6.0, True), ("seed", 6.0, False), ("stir", None, False)):
        bowl.advice = {"at": bowl.now_s(), "next": {"do": order, "seconds": seconds}}
        bowl._looked_s = bowl.now_s()
        assert not bowl.grows_old()
        clock.pass_(seconds=7)
        assert bowl.grows_old() == due, order
        assert not bowl.grows_old()


def test_a_bowl_put_away_keeps_one_snapshot_once_it_is_finished(house, clock):
    bowls = Bowls(house, PlainMaker())
    bowl, begun = bowls.begin(START, "s")
    begun.result(10)
    for i in range(1, 500):
        bowl.tell({"what": "reading", "temperature_C": 40, "at": i}, f"r{i}").result(10)
    bowl.keep()
    assert house.snapshots.load(bowl.name, form="plain 1", before=499) is not None
    bowl.tell({"what": "finish", "at": 500}, "f").result(10)
    clock.pass_(hours=1)
    bowls.look_after()
    bowls.close()
    assert bowls.at_work() == []
    assert house.snapshots.load(bowl.name, form="plain 1")[0] == 501
    assert house.snapshots.load(bowl.name, form="plain 1", before=501) is None


def test_a_corrected_reading_is_put_right_on_screen(house, clock):
    bowls = Bowls(house, PlainMaker())
    bowl, begun = bowls.begin(START, "s")
    begun.result(10)

    def told(name, event):
        clock.pass_(seconds=10)
        bowl.tell(event, name).result(10)
        return bowl.trail.reading and bowl.trail.reading["temperature_C"], bowl.trail.rows[-2 if name != "r" else -1][1]

    assert told("r", {"what": "reading", "temperature_C": 88}) == (88, 88)
    reading = {"what": "reading", "at": 10, "temperature_C": 31.11}
    assert told("c", {"what": "correct", "of": "r", "event": reading}) == (31.11, 31.11)
    assert told("d", {"what": "correct", "of": "r", "event": None})[0] is None
    assert [row[1] for row in bowl.trail.rows] == [None] * 4
    bowls.close()
