"""The commands that print what the program rests on."""

import json

import jsonschema
import pytest
from typer.testing import CliRunner

from bloomless import __version__
from bloomless.cli import main as cli
from bloomless.errors import ImpossibleInput, StorageFailure

RUNNER = CliRunner()


def output(*arguments):
    result = RUNNER.invoke(cli.app, arguments)
    assert result.exit_code == 0, result.output
    return result.output


def test_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(json.loads(output("schema")))


def test_defaults_in_both_forms():
    rows = json.loads(output("schema", "--defaults", "--json"))
    assert any(row["field"] == "mass_g" and row["default"] == "required" for row in rows)
    assert "required" in output("schema", "--defaults")


def test_sources_in_both_forms():
    assert "common_practice" in json.loads(output("sources", "--json"))
    assert "common_practice" in output("sources")
    numbers = json.loads(output("sources", "--bowl", "milk", "--json"))
    assert numbers["bowl.form_v_end_C"]["value"] == 33.8
    assert set(json.loads(output("sources", "--json"))) >= {number["source"] for number in numbers.values()}
    assert "assumed" in output("sources", "--bowl", "dark")


def test_version_and_help():
    assert output("--version").strip() == f"bloomless {__version__}"
    for command in ("schema", "sources"):
        assert "--json" in output(command, "--help")


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (ImpossibleInput("mass_g", -1, "more"), 3),
        (StorageFailure("The book is gone."), 4),
        (KeyboardInterrupt(), 130),
    ],
)
def test_named_errors_become_a_sentence_and_a_code(monkeypatch, capsys, error, code):
    def fail(*names):
        raise error

    monkeypatch.setattr(cli, "command_line", fail)
    with pytest.raises(SystemExit) as caught:
        cli.main()
    assert caught.value.code == code
    assert isinstance(error, KeyboardInterrupt) or "bloomless: " in capsys.readouterr().err
