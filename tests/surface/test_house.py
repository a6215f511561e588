"""The house is as drawn: sizes, briefs of the rooms, public names."""

import ast
import importlib
import pkgutil
from collections import Counter
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


def _assigned(path):
    """Names that the statements of a module itself assign, as often as they do."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign | ast.AnnAssign):
            for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                yield from (n.id for n in ast.walk(target) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store))


def test_no_module_gives_a_name_twice():
    counted = Counter((str(path.relative_to(PROJECT)), name) for path in MODULES for name in _assigned(path))
    twice = [where for where, times in counted.items() if times > 1]
    assert not twice, "only the last value holds, whichever one is read"


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
