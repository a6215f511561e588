"""The shell: first start, views, words, errors as pages and as problems."""

import socket

import pytest
from starlette.testclient import TestClient

from bloomless.web.app import create_app
from bloomless.web.forms import Form
from bloomless.web.server import listening_socket
from bloomless.web.view import View
from bloomless.web.words import chosen_language, language_name, script_words
from services.plain_craft import PlainMaker

PAGE = {"accept": "text/html"}


def test_first_start_asks_four_things(client):
    assert client.get("/").headers["location"] == "/welcome"
    page = client.get("/welcome", headers={"accept-language": "en-US,en;q=0.8"}).text
    assert 'value="F" checked' in page
    assert 'value="oz" checked' in page
    assert 'value="US" selected' in page
    wrong = client.post("/welcome", data={"language": "en", "temperature": "F", "mass": "stone"})
    assert wrong.status_code == 422
    assert 'value="F" checked' in wrong.text
    chosen = {"language": "de", "temperature": "C", "mass": "g", "country": "EU"}
    assert client.post("/welcome", data=chosen).status_code == 303
    assert 'lang="de"' in client.get("/").text


def test_a_device_has_its_own_view(client):
    answer = client.post(
        "/settings/device", data={"temperature": "F", "mass": "oz", "contrast": "night", "language": "xx"}
    )
    assert answer.status_code == 303
    page = client.get("/settings").text
    assert 'data-contrast="night"' in page
    assert 'value="F" checked' in page


def test_errors_as_page_and_as_problem(client):
    page = client.get("/nowhere", headers=PAGE)
    assert (page.status_code, page.headers["content-type"]) == (404, "text/html; charset=utf-8")
    problem = client.get("/nowhere")
    assert problem.headers["content-type"] == "application/problem+json"
    assert {"type", "title", "status", "detail", "instance"} <= problem.json().keys()


def test_an_unexpected_error_says_so_without_its_inside(house, monkeypatch):
    app = create_app(house, maker=PlainMaker())

    @app.get("/broken")
    async def broken():
        raise ZeroDivisionError("inner words")

    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        answer = client.get("/broken")
    assert (answer.status_code, answer.json()["code"]) == (500, "unexpected")
    assert "inner words" not in answer.text


def test_numbers_in_the_languages_way():
    german, english = View(language="de"), View(temperature="F", mass="oz")
    assert german.temperature_text(31.24) == "31,2\u00a0°C"
    assert german.number(-0.5) == "\u22120,5"
    assert german.number(1234.5, 1) == "1.234,5"
    assert english.temperature_text(31.24) == "88.2\u00a0°F"
    assert english.mass_text(100) == "3.5\u00a0oz"
    assert german.mass_text(130) == "130\u00a0g"
    assert german.mass_text(4.25) == "4,2\u00a0g"
    assert german.mass_text(12.0, 0) == "12\u00a0g"
    assert german.percent(0.87) == "87\u00a0%"
    assert (german.number(None), german.percent(None), german.mass_text(None), german.degrees(None)) == ("–",) * 4


def test_languages():
    assert chosen_language(None, "fr-FR, de-CH;q=0.9") == "de"
    assert chosen_language("xx", "fr") == "en"
    assert language_name("de") == "Deutsch"
    assert script_words("en").startswith("export default {")


@pytest.mark.parametrize("unit", ["C", "F"])
def test_forms_keep_what_was_typed(unit):
    form = Form({"a": "31,4", "b": "hot", "c": " x ", "d": "", "e": "999"}, view=View(temperature=unit))
    read = form.temperature_C("a", at_least=-20, at_most=120)
    assert read == pytest.approx(31.4 if unit == "C" else -1 / 3)
    assert form.number("b") is None
    assert form.text("c") == "x"
    assert form.text("d") is None
    assert form.text("d", required=False) is None
    assert form.number("d", required=False) is None
    assert form.number("e", at_least=0, at_most=10) is None
    assert form.choice("c", ["y"]) is None
    assert set(form.errors) == {"b", "c", "d", "e"}
    assert form.errors["e"] == "A number from 0 to 10."
    assert form.values["b"] == "hot"


def test_masses_in_ounces():
    form = Form({"n": "5", "o": "x"}, view=View())
    form.number("n", at_least=0.02, at_most=1)
    form.number("o", at_least=0.5, at_most=10_000)
    assert form.errors == {"n": "A number from 0.02 to 1.", "o": "A number from 0.5 to 10,000."}
    form = Form({"m": "2"}, view=View(mass="oz"))
    assert form.mass_g("m", at_least=0, at_most=1000) == pytest.approx(56.699)


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("room=20&humidity=40", ["Go: the room is fit", "20\u00a0°C is within 23\u00a0°C"]),
        ("room=22&humidity=55", ["With care", "dew point 12.5\u00a0°C", "dark bars"]),
        ("room=33&humidity=80", ["Not today", "before 7 in the morning"]),
        ("room=22", ["With care", "Humidity not said"]),
    ],
)
def test_the_room_today(client, query, words):
    page = client.get(f"/today?{query}").text
    for word in words:
        assert word in page, word


def test_a_room_that_cannot_be(client):
    assert "Is it fit?" in client.get("/today").text
    wrong = client.get("/today?room=hot&humidity=300")
    assert wrong.status_code == 422
    assert 'value="hot"' in wrong.text
    assert wrong.text.count('class="wrong"') == 2


def test_answers_are_sent_at_once():
    """Without TCP_NODELAY a small body waits for the client's delayed acknowledgement, 40 ms on every request."""
    listener = listening_socket("127.0.0.1", 0)
    assert listener.proto == socket.IPPROTO_TCP
    listener.close()


def test_an_address_without_a_page_says_so_in_words(client):
    page = client.get("/nowhere", headers={"accept": "text/html"}).text
    assert "no page at this address" in page
    assert "Not Found" not in page
