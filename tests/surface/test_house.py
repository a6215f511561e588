"""The house is as drawn: sizes, briefs of the rooms, public names."""

import ast
import importlib
import pkgutil
from pathlib import Path

import pytest

import bloomless

ROOT = Path(bloomless.__file__).parent
PROJECT = Path(__file__).parents[2]
MODULES = sorted(path for part in ("src", "tests", "benchmarks", "tools") for path in (PROJECT / part).rglob("*.py"))
NAMES = sorted(m.name for m in pkgutil.walk_packages([str(ROOT)], "bloomless.") if m.name != "bloomless.__main__")


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PROJECT)))
def test_sizes(path):
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 600, "a module has at most 600 lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = node.end_lineno - node.lineno + 1
            assert lines <= 80, f"{node.name} has {lines} lines, 80 are allowed"


@pytest.mark.parametrize("room", sorted(p.name for p in ROOT.iterdir() if (p / "__init__.py").exists()))
def test_every_room_has_a_brief(room):
    brief = importlib.import_module(f"bloomless.{room}").__doc__ or ""
    for part in ("Belongs here:", "May import:", "Must never:"):
        assert part.lower() in brief.lower(), f"the brief of {room} lacks «{part}»"
    assert len(brief.strip().splitlines()) <= 10


@pytest.mark.parametrize("name", NAMES)
def test_public_names_exist(name):
    module = importlib.import_module(name)
    for public in getattr(module, "__all__", []):
        assert hasattr(module, public)


def test_every_command_loads():
    from bloomless.cli.main import COMMANDS, command_line

    whole = command_line()
    named = {c.name for c in whole.registered_commands} | {g.name for g in whole.registered_groups}
    assert named == set(COMMANDS)
    alone = command_line("schema")
    assert [c.name for c in alone.registered_commands] == ["schema"]
    assert not alone.registered_groups
