"""A backup on screen: the whole book in one file that opens, who may make it, when the last was made."""

import json

import pytest
from starlette.testclient import TestClient

from bloomless.assembly import open_house, places
from bloomless.cli.main import command_line
from bloomless.errors import StorageFailure
from bloomless.storage.engine import FILE_NAME
from bloomless.web import Door, create_app
from bloomless.web.sign_in import set_secret
from services.looks import look_over
from services.plain_craft import PlainMaker
from services.web import OUT, SIZES

START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0, "id": "s1"}


@pytest.fixture
def settled(client):
    client.post("/welcome", data={"language": "en", "temperature": "C", "mass": "g", "country": "EU"})
    return client


def test_a_backup_is_the_whole_book_and_opens(settled, house, tmp_path, clock):
    settled.post("/book/example", data={"do": "load"})
    bench = settled.post("/api/v1/benches", json=START).json()["bench"]
    set_secret(house, "bench", "246810")
    assert '<strong id="backup-last" data-at="">never<' in settled.get("/settings").text
    sent = settled.post("/settings/backup")
    assert sent.headers["content-disposition"] == 'attachment; filename="bloomless-2031-05-01-1200.sqlite"'
    other = tmp_path / "other"
    other.mkdir()
    (other / FILE_NAME).write_bytes(sent.content)
    copy = open_house(places(other, {}), clock=clock)
    assert {one.key for one in copy.book.latest("recipe")} == {one.key for one in house.book.latest("recipe")} != set()
    assert copy.log.sessions() == house.log.sessions()
    assert bench in copy.log.sessions()
    assert copy.secrets.secret("bench") is None
    copy.close()


def test_it_says_when_the_last_was_made_also_by_the_command(settled, house, clock, tmp_path):
    assert settled.get("/settings/backup").json() == {"at": "", "said": ""}
    settled.post("/settings/backup")
    first = settled.get("/settings/backup").json()
    assert first["said"] in settled.get("/settings").text.replace("\u00a0", "\u00a0")
    clock.pass_(hours=3)
    settled.post("/settings/backup")
    assert settled.get("/settings/backup").json()["at"] > first["at"]
    from typer.testing import CliRunner

    target = tmp_path / "copy.sqlite"
    done = CliRunner().invoke(
        command_line("backup"), ["backup", str(target), "--data", str(house.places.folder), "--json"]
    )
    assert json.loads(done.stdout)["bytes"] == target.stat().st_size
    assert settled.get("/settings/backup").json()["said"].endswith("MB)")
    assert house.book.get("backup", "last").document["bytes"] == target.stat().st_size


def test_only_the_keeper_takes_the_book_away(house):
    set_secret(house, "owner", "tide under the boathouse")
    set_secret(house, "bench", "246810")
    app = create_app(house, Door("0.0.0.0", 8750, tls=True), PlainMaker())
    with TestClient(app, base_url="https://kitchen.local:8750", follow_redirects=False) as client:
        client.post("/sign-in", data={"secret": "246810"})
        assert "/settings/backup" not in client.get("/settings", headers={"accept": "text/html"}).text
        for ask in (client.post, client.get):
            assert ask("/settings/backup").json()["code"] == "bench_only"


def test_a_backup_that_cannot_be_written_is_said_and_not_counted(settled, monkeypatch):
    def full(*_):
        raise StorageFailure("The disk is full.")

    monkeypatch.setattr("bloomless.assembly.back_up.backup_to", full)
    answer = settled.post("/settings/backup", headers={"accept": "text/html"})
    assert answer.status_code == 503
    assert "The disk is full." in answer.text
    assert settled.get("/settings/backup").json()["at"] == ""


@pytest.mark.browser
@pytest.mark.xdist_group("browser")
@pytest.mark.parametrize("size", ["phone", "tablet", "laptop"])
def test_it_is_made_and_downloaded_on_screen(browser, address, size):
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, accept_downloads=True)
    page = context.new_page()
    page.goto(f"{address}/settings#backup")
    before = page.get_attribute("#backup-last", "data-at")
    page.focus("#backup button")
    with page.expect_download() as coming:
        page.keyboard.press("Enter")
    assert coming.value.suggested_filename.endswith(".sqlite")
    page.wait_for_selector("text=It is made")
    assert page.get_attribute("#backup-last", "data-at") not in ("", before)
    look_over(page, "settings, backup made")
    OUT.mkdir(exist_ok=True)
    page.screenshot(path=OUT / f"backup-{size}.png", full_page=True)
    context.close()
