"""``bloomless backup``: the copy is a book that opens, and nothing is written over."""

import json

import pytest
from typer.testing import CliRunner

from bloomless.cli.main import command_line
from bloomless.errors import ImpossibleInput
from bloomless.storage.engine import FILE_NAME


def test_a_copy_in_a_folder_of_its_own_is_the_book(tmp_path):
    app, house, other = command_line("recipe", "backup"), str(tmp_path / "house"), tmp_path / "other"
    other.mkdir()

    def call(*words, folder=house):
        found = CliRunner().invoke(app, [*words, "--data", str(folder), "--json"])
        if found.exception is not None:
            raise found.exception
        return json.loads(found.stdout)

    CliRunner().invoke(app, ["recipe", "demo", "--data", house])
    copy = other / FILE_NAME
    told = call("backup", str(copy))
    assert told == {"file": str(copy), "bytes": copy.stat().st_size}
    assert call("recipe", "list", folder=other) == call("recipe", "list")
    assert call("recipe", "list")["recipes"]
    with pytest.raises(ImpossibleInput, match="backup"):
        call("backup", str(copy))
