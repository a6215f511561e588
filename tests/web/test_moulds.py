"""The Moulds screen: casting, what if, pictures, sheet, measuring, and the same over REST."""

import pytest

GOOD = (
    "mould=bar-60&chocolate=dark&temperature_C=31.2&form_v_pct_of_fat=1.5&mould_C=22&space=cabinet"
    "&room_C=22&room_rh_pct=60"
)


@pytest.fixture
def settled(client):
    client.post("/welcome", data={"language": "en", "temperature": "C", "mass": "g", "country": "EU"})
    return client


def test_an_empty_form(settled):
    page = settled.get("/moulds")
    assert page.status_code == 200
    assert "What will it do?" in page.text
    assert "Turn out" not in page.text


def test_a_casting(settled):
    page = settled.get(f"/moulds?{GOOD}").text
    for words in (
        "Set through",
        "Turn out",
        "Look for lifting from",
        "The room today",
        "Out of the cold",
        "What set where",
    ):
        assert words in page, words
    assert f"/moulds/cooling.svg?{GOOD.replace('&', '&amp;')}" in page


def test_pictures_and_paper(settled):
    picture = settled.get(f"/moulds/cooling.svg?{GOOD}")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert "<svg" in picture.text
    paper = settled.get(f"/moulds/sheet.pdf?{GOOD}")
    assert paper.content.startswith(b"%PDF")


def test_what_if(settled):
    page = settled.get(f"/moulds/what-if?{GOOD}").text
    assert "moving air" in page or "still air" in page
    assert "<svg" in settled.get(f"/moulds/what-if.svg?{GOOD}").text


def test_what_cannot_be_is_said_at_the_field(settled):
    wrong = settled.get("/moulds?mould=bar-60&mould_C=warm")
    assert wrong.status_code == 422
    assert "mould_C-wrong" in wrong.text
    unknown = settled.get("/moulds?mould=nothing")
    assert unknown.status_code == 422
    warm = settled.get("/moulds?mould=bar-60&temperature_C=30&mould_C=40")
    assert "below the chocolate" in warm.text


def test_a_mould_is_measured(settled):
    done = settled.post("/moulds/measure", data={"measured": "bar-60", "water": "47", "cavities": "1"})
    assert done.headers["location"] == "/moulds?mould=bar-60"
    assert "★" in settled.get("/moulds").text
    assert settled.post("/moulds/measure", data={"measured": "bar-60"}).status_code == 422


def test_rest(settled):
    assert len(settled.get("/api/v1/moulds").json()) >= 15
    told = settled.post("/api/v1/moulds/predict", json={"mould": "bar-60", "form_v_pct_of_fat": 1.5}).json()
    assert told["out_min"]["p50"] > 10
    before = settled.post("/api/v1/moulds/before-casting", json={"mould_C": 6, "room_C": 24, "room_rh_pct": 60}).json()
    assert not before["may_go_on"]
    assert settled.post("/api/v1/moulds/dance", json={}).status_code == 404
    wrong = settled.post("/api/v1/moulds/predict", json={"mould": "bar-60", "mould_C": "cold"})
    assert wrong.status_code == 422
    log = [{"at_s": 60 * m, "temperature_C": 12 + 16 * 0.93**m, "place": "mould"} for m in range(1, 40)]
    learned = settled.post(
        "/api/v1/moulds/places/shelf/log", json={"casting": {"mould": "bar-60", "mould_C": 22}, "log": log}
    )
    assert learned.json()["after"]["logs"] == 1
    assert "shelf" in settled.get("/moulds").text
