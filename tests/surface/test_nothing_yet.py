"""Where a name is asked for and there is nothing to choose from, that is said, and how to make the first."""

import pytest

from bloomless.cli import firsts
from bloomless.cli.main import main
from bloomless.errors import UnknownName
from bloomless.web.problems import FIRSTS
from bloomless.web.sentences import say
from bloomless.web.view import View

PAGES = {
    "/labels/x": "/labels", "/labels/x/history": "/labels", "/book/recipes/x": "/book", "/book/recipes/x/edit": "/book",
    "/book/recipes/x/packaging": "/book", "/book/batches/x": "/book", "/past/x": "/start", "/bench/x": "/start",
    "/moulds?bowl=x": "/start", "/thermometers/x": "/thermometer-new", "/practice/x": "/practice",
}  # fmt: skip
COMMANDS = {
    "recipe show x": "recipe draft", "recipe cost x": "recipe draft", "recipe pack x": "recipe draft",
    "recipe close x good": "recipe batch", "recipe count cream_35 M7 5": "recipe receive",
    "probe watch x": "probe add", "label confirm x --market eu --by M": "label check",
}  # fmt: skip


def test_an_empty_list_is_said_and_a_long_one_is_cut():
    empty = UnknownName("label_print", "x", ())
    assert str(empty) == "There is no label print yet, so “x” cannot be found."
    assert (empty.code, empty.field, empty.value, empty.known) == ("unknown_name", "label_print", "x", ())
    assert "none yet" in empty.accepted
    assert str(UnknownName("kind", "darc", ["dark", "milk"])).endswith("give one of dark.")
    many = str(UnknownName("kind", "?", [f"name {n:03}" for n in range(200)]))
    assert many.endswith("name 023 ….")
    assert not str(UnknownName("kind", "?", [f"name {n:03}" for n in range(24)])).endswith("….")


@pytest.mark.parametrize(("path", "first"), PAGES.items())
def test_a_page_leads_to_where_the_first_is_made(client, path, first):
    client.cookies.set("view", "language=en")
    page = client.get(path, headers={"accept": "text/html"})
    assert page.status_code == 404
    assert "yet, so “x” cannot be found." in page.text
    assert f'class="button" href="{first}"' in page.text
    assert client.get(first).status_code in (200, 303)
    body = client.get(path).json()
    assert (body["code"], body["detail"].startswith("There is no ")) == ("unknown_name", True)


def test_a_name_beside_others_is_told_them_and_not_how_to_make_the_first(client):
    start = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0}
    bench = client.post("/api/v1/benches", json=start).json()["bench"]
    page = client.get("/bench/x", headers={"accept": "text/html"})
    assert bench in page.text
    assert "Make the first one here" not in page.text


@pytest.mark.parametrize("thing", FIRSTS)
def test_it_is_said_in_german(thing):
    said = say(str(UnknownName(thing, "x", ())), View("de"))
    assert said.startswith("Es gibt noch kein")
    assert said.endswith("darum ist „x“ nicht zu finden.")


@pytest.mark.parametrize(("words", "first"), COMMANDS.items())
def test_a_command_says_how_to_make_the_first(words, first, monkeypatch, capsys, tmp_path):
    monkeypatch.setattr("sys.argv", ["bloomless", *words.split(), "--data", str(tmp_path)])
    with pytest.raises(SystemExit) as ended:
        main()
    said = capsys.readouterr().err
    assert ended.value.code == 3
    assert "There is no " in said
    assert f"bloomless {first}" in said


def test_every_command_that_is_named_is_there():
    from bloomless.cli.main import command_line

    groups = {group.name: group.typer_instance for group in command_line().registered_groups}
    for text in firsts.FIRSTS.values():
        for named in text.split("bloomless ")[1:]:
            group, *rest = named.replace(",", " ").replace(".", " ").split()
            if group in groups:
                names = {c.name or c.callback.__name__.replace("_", "-") for c in groups[group].registered_commands}
                assert rest[0] in names, named
            else:
                assert group == "serve", named
