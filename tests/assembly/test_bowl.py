"""A bowl at work, whoever is watching."""

from bloomless.assembly.bowls import Bowls
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
