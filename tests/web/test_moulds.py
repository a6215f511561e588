"""The Moulds screen: casting, what if, pictures, sheet, measuring, and the same over REST."""

import re

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
        "Out of the cold",
        "What set where",
    ):
        assert words in page, words
    assert f"/moulds/cooling.svg?{GOOD.replace('&', '&amp;')}" in page


def test_pictures_and_paper(settled):
    picture = settled.get(f"/moulds/cooling.svg?{GOOD}")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert "<svg" in picture.text
    assert "<svg" in settled.get(f"/moulds/profile.svg?{GOOD}").text
    for name in ("cooling", "profile", "what-if"):  # drawn anew for a phone, not shrunk
        wide, narrow = (settled.get(f"/moulds/{name}.svg?{GOOD}{more}").text for more in ("", "&narrow=1"))
        widths = [float(re.search(r'<svg [^>]*?width="([\d.]+)pt"', one)[1]) for one in (wide, narrow)]
        assert widths[1] == pytest.approx(widths[0] / 2, rel=0.1), name
    assert "<svg" in settled.get("/moulds/profile.svg?mould=hemisphere-30&form=capped").text
    paper = settled.get(f"/moulds/sheet.pdf?{GOOD}")
    assert paper.content.startswith(b"%PDF")


def test_what_if(settled):
    page = settled.get(f"/moulds/what-if?{GOOD}").text
    assert "with breaks, three in a mould" in page
    assert "Moving air" in page or "Still air" in page
    assert "<svg" in settled.get(f"/moulds/what-if.svg?{GOOD}").text


def test_what_cannot_be_is_said_at_the_field(settled):
    wrong = settled.get("/moulds?mould=bar-60&mould_C=warm")
    assert wrong.status_code == 422
    assert "mould_C-wrong" in wrong.text
    assert settled.get("/moulds/what-if?mould=bar-60&mould_C=warm", follow_redirects=False).status_code == 303
    unknown = settled.get("/moulds?mould=nothing")
    assert unknown.status_code == 422
    warm = settled.get("/moulds?mould=bar-60&temperature_C=30&mould_C=40")
    assert "below the chocolate" in warm.text


def test_a_mould_is_measured(settled):
    done = settled.post("/moulds/measure", data={"measured": "bar-60", "water": "47", "cavities": "1"})
    assert done.headers["location"] == "/moulds?mould=bar-60"
    assert "★" in settled.get("/moulds").text
    assert "by water" in settled.get("/moulds/own").text
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


def test_pieces_on_screen(settled):
    shell = settled.get("/moulds?mould=hemisphere-30&form=shell&shell_mm=1.5").text
    assert "Fill from" in shell
    assert "Look for lifting from" not in shell
    capped = settled.get("/moulds?mould=hemisphere-30&form=capped&filling=praline&filling_C=31&cap_mm=1.5").text
    assert "melts the shell from inside" in capped
    nuts = settled.get("/moulds?mould=bar-60&inclusion=nut_pieces&inclusion_share_pct=20&inclusion_C=18").text
    assert "Allergen on board" in nuts
    layers = settled.get("/moulds?mould=bar-60&form=layers&below=white&below_share_pct=40")
    assert "Turn out" in layers.text
    assert settled.get("/moulds?mould=hemisphere-30&form=capped&cap_mm=40").status_code == 422
    room = settled.get("/moulds?mould=hemisphere-30&form=capped&cap_mm=14")
    assert room.status_code == 422
    assert "room for a filling" in room.text


def test_amounts_on_screen(settled):
    assert settled.get("/moulds/fill").status_code == 200
    page = settled.get(
        "/moulds/fill?mould=hemisphere-30&form=capped&moulds=4&filling=ganache&colour1=ochre&way1=splatter&drain_s=20"
        "&inclusion=nut_pieces&inclusion_where=back&inclusion_share_pct=5&flow=thin&tapped=1"
    ).text
    for words in (
        "96 pieces of",
        "ochre",
        "Can this bowl make the shell?",
        "comes back out",
        "water activity",
        "In this order",
    ):
        assert words in page, words
    assert settled.get("/moulds/fill?mould=bar-60&form=layers&below=white").status_code == 200
    assert settled.get("/moulds/fill?mould=nothing").status_code == 422


def test_room_on_screen(settled):
    # Scenarios S4 and S11 on the screen.
    assert settled.get("/moulds/room").status_code == 200
    page = settled.get(
        "/moulds/room?room_C=24&room_rh_pct=60&cold_C=12&mould_C=6&colour1=ochre&colour1_C=27.5&thick1=1&colour2=green"
        "&colour2_C=35.2&brushed=1&moulds=16"
    ).text
    for words in ("Not yet.", "wet within seconds", "too far set", "lost its temper", "test cavity", "dew point"):
        assert words in page, words
    warm = settled.get("/moulds/room?room_C=28&room_rh_pct=65").text
    assert "not today" in warm
    assert "before 7 in the morning" in warm
    assert settled.get("/moulds/room?room_C=hot").status_code == 422
    assert "Go on." in settled.get("/moulds/room?mould_C=22&room_C=20&room_rh_pct=50&colour1_C=30.5").text


def test_keeping_on_screen(settled):
    assert settled.get("/moulds/keep").status_code == 200
    page = settled.get("/moulds/keep?temper=gross&store_C=18&nut_shell_mm=1.5&warm_times=2&store_rh_pct=70").text
    for words in ("out of temper", "Oil crosses", "sugar bloom", "laboratory"):
        assert words in page, words
    assert settled.get("/moulds/keep?temper=odd").status_code == 422


def test_a_place_is_learned_on_screen(settled):
    assert settled.get("/moulds/places").status_code == 200
    log = "\n".join(f"{m} {12 + 16 * 0.93**m:.1f}" for m in range(1, 40)) + "\n\n5,5;24,0;chocolate"
    said = {"place": "loft shelf", "mould": "bar-60", "mould_C": "22", "air_C": "12", "where": "chocolate", "log": log}
    page = settled.post("/moulds/places", data={**said, "power_W": "60"}).text
    assert "Heat leaves" in page
    assert "loft shelf" in settled.get("/moulds").text
    for wrong in ({"log": ""}, {"log": "one two"}, {"log": "5"}, {"log": "1 20"}, {"place": ""}):
        assert settled.post("/moulds/places", data={**said, **wrong}).status_code == 422


def test_an_own_mould_by_its_sizes(settled):
    said = {"name": "sail", "shape": "hemisphere", "radius_mm": "14", "material": "polycarbonate", "cavities_new": "20"}
    assert settled.post("/moulds/own", data=said, follow_redirects=False).status_code == 303
    assert "sail" in settled.get("/moulds/own").text
    assert settled.post("/moulds/own", data={**said, "radius_mm": ""}).status_code == 422
    assert settled.post("/moulds/own", data={**said, "name": ""}).status_code == 422


def test_a_second_place_on_screen(settled):
    page = settled.get(f"/moulds?{GOOD}&power_W=40&then_min=15&then_space=cool_room&then_air_C=15").text
    assert "after 15 min 15.0" in " ".join(page.replace("\xa0", " ").split())
    assert "The moulds warm its air by" in page
    assert settled.get(f"/moulds?{GOOD}&then_min=nothing").status_code == 422


@pytest.fixture
def poured(settled):
    """A bowl that some was poured from: 31.2 °C, form V 1.2 (1.0-1.4) % of the fat by the plain bowl of the tests."""
    start = {"what": "start", "chocolate": "milk", "mass_g": 800, "temperature_C": 31.2, "room_C": 19, "id": "poured"}
    bench = settled.post("/api/v1/benches", json=start).json()["bench"]
    for event in ({"what": "seed", "mass_g": 100, "at": 1}, {"what": "reading", "temperature_C": 31.2, "at": 301}):
        settled.post(f"/api/v1/benches/{bench}/events", json=event)
    settled.post(f"/api/v1/benches/{bench}/events", json={"what": "remove", "mass_g": 200, "at": 310})
    return bench


def filled(page):
    """Names and values of the fields of a page."""
    found = dict(re.findall(r'<input[^>]*? name="(\w+)"[^>]*? value="([^"]*)"', page))
    for name, options in re.findall(r'<select id="\w+" name="(\w+)"(.*?)</select>', page, re.DOTALL):
        if chosen := re.search(r'<option value="([^"]*)" selected', options):
            found[name] = chosen[1]
    return found


def test_a_bowl_fills_in_its_casting(settled, poured):
    page = settled.get(f"/moulds?bowl={poured}").text
    assert "Turn out" not in page  # the mould is the cook's to choose
    form = filled(page)
    assert (form["chocolate"], form["room_C"]) == ("milk", "19.0")
    assert float(form["temperature_C"]) == pytest.approx(31.2, abs=0.2)
    bands = [form[name] for name in ("form_v_low", "form_v_pct_of_fat", "form_v_high")]
    assert bands == ["1.0", "1.2", "1.4"]
    assert form["unstable_high"] == "0.13"
    told = settled.get("/moulds", params={**form, "bowl": poured, "mould": "bar-60"}).text
    assert "with 1.2 % of the fat in form V (1.0–1.4)" in told
    assert f'/bench/{poured}"' in told
    changed = filled(settled.get("/moulds", params={**form, "mould": "bar-60", "temperature_C": "30.1"}).text)
    assert changed["temperature_C"] == "30.1"  # what the cook typed is not overwritten
    assert f"/moulds?bowl={poured}" in settled.get("/moulds").text


def test_a_bowl_fills_in_the_units_of_the_device(settled, poured):
    settled.post("/settings/device", data={"temperature": "F", "language": "de"})
    form = filled(settled.get(f"/moulds?bowl={poured}").text)
    assert form["room_C"] == "66,2"
    assert settled.get("/moulds", params={**form, "mould": "bar-60"}).status_code == 200


def test_a_band_must_rise_and_fats_fit_in_the_chocolate(settled):
    for wrong, field in (
        ("form_v_low=3&form_v_pct_of_fat=2", "form_v_pct_of_fat"),
        ("form_v_high=3", "form_v_pct_of_fat"),
        ("unstable_pct_of_fat=2&unstable_high=1", "unstable_pct_of_fat"),
        ("cocoa_butter_pct=80&milk_fat_pct=30", "cocoa_butter_pct"),
    ):
        page = settled.get(f"/moulds?mould=bar-60&{wrong}")
        assert (page.status_code, f'id="{field}-wrong"' in page.text) == (422, True), wrong
    own = settled.get("/moulds?mould=bar-60&chocolate=milk&cocoa_butter_pct=24&milk_fat_pct=8")
    assert own.status_code == 200
    assert settled.get("/moulds?bowl=nobody").status_code == 404
