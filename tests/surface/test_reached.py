"""What only tests can reach is not done: every public name of the house is read on some way from a command or a page.

A way begins at the statements a module runs when it is imported, at functions that something registers (a command, a
route), at functions that a command carries the name of, and in the maintainers' tools. It goes on through what the
definition of a reached name reads. Names are followed through imports; an attribute of anything but a module reaches
every definition of that name, so that nothing in use is ever called dead.
"""

import ast
import re
from collections import defaultdict
from functools import cache
from pathlib import Path

import bloomless

ROOT = Path(bloomless.__file__).parent
PROJECT = Path(__file__).parents[2]

UNREACHED = {
    # The bowl's equations as a right side, and its heat: what solvers and the law of energy hold the step against.
    "bloomless.physics.rates": {"bowl_rates"},
    "bloomless.physics.actions": {"enthalpy_J"},
    "bloomless.kitchens.bowl": {"enthalpy_J"},
    # Names of the rows that kernels count by number.
    "bloomless.physics.rows": {"STATE_ROWS", "PARAMETER_ROWS", "CONTROL_ROWS"},
    "bloomless.physics.mould_kernel": {"FACE", "SPACE"},
    "bloomless.physics.mould_kinetics": {"COLUMNS"},
    # The book without a house, for programs that use the jobs of the bench as a library, and for benchmarks.
    "bloomless.bench.ports": {"MemoryBook"},
    # `benchmarks/advice.py` holds bowls for four hours by it.
    "bloomless.studies.holding": {"hold_case", "held_share"},
    # Check 52 of the rules: a printed code is read by its buyer, who must find the day that was meant.
    "bloomless.rules.common.gs1": {"date_from_yymmdd"},
}
"""Public names that nothing reaches, each with its reason. A row that is reached after all must go."""


@cache
def _trees():
    """Every module by name, and the tools under names of their own."""
    found = {}
    for path in ROOT.rglob("*.py"):
        parts = path.relative_to(ROOT.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = ast.parse(path.read_text(encoding="utf-8"))
    for path in (PROJECT / "tools").glob("*.py"):
        found[f"tools.{path.stem}"] = ast.parse(path.read_text(encoding="utf-8"))
    return found


def _targets(node):
    """Names that a statement of a module defines."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return [node.name]
    if isinstance(node, ast.Assign | ast.AnnAssign):
        stored = node.targets if isinstance(node, ast.Assign) else [node.target]
        return [n.id for target in stored for n in ast.walk(target) if isinstance(n, ast.Name)]
    return []


def _is_registered(node):
    """Whether a decorator that is called on something (``app.command()``, ``router.get(…)``) hands the function on."""
    return any(
        isinstance(decorator, ast.Call) and isinstance(decorator.func, ast.Attribute)
        for decorator in getattr(node, "decorator_list", ())
    )


class House:
    """Definitions and imports of every module, and what they reach."""

    def __init__(self, trees):
        self.trees = trees
        self.defined = {module: defaultdict(list) for module in trees}
        self.by_name = defaultdict(set)
        self.starts = defaultdict(list)
        self.imported = {module: {} for module in trees}
        for module, tree in trees.items():
            for node in tree.body:
                for name in _targets(node):
                    self.defined[module][name].append(node)
                    self.by_name[name].add((module, name))
                if module.startswith("tools.") or not _targets(node) or _is_registered(node):
                    self.starts[module].append(node)
            for node in ast.walk(tree):
                if isinstance(node, ast.ImportFrom) and node.module:
                    for alias in node.names:
                        self.imported[module][alias.asname or alias.name] = (node.module, alias.name)

    def where(self, module, name):
        """The module and name of a definition; the name is empty for a module, ``None`` for what is not ours."""
        while module in self.trees:
            if name in self.defined[module]:
                return module, name
            if self.imported[module].get(name, (module, name)) != (module, name):
                module, name = self.imported[module][name]
            else:
                return (f"{module}.{name}", "") if f"{module}.{name}" in self.trees else None
        return None

    def reads(self, module, node):
        """Definitions that a piece of code names."""
        for n in ast.walk(node):
            if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Load):
                yield self.where(module, n.id)
            elif isinstance(n, ast.Attribute):
                owner = self.where(module, n.value.id) if isinstance(n.value, ast.Name) else None
                yield from [self.where(owner[0], n.attr)] if owner and not owner[1] else self.by_name[n.attr]

    def reached(self):
        """Every definition on some way."""
        todo = [found for module, nodes in self.starts.items() for node in nodes for found in self.reads(module, node)]
        todo += [(module, n.name) for module, nodes in self.starts.items() for n in nodes if hasattr(n, "name")]
        todo += [("bloomless.cli.main", "main"), *self.commands()]
        seen = set()
        while todo:
            found = todo.pop()
            if found is None or found in seen or found[1] not in self.defined.get(found[0], ()):
                continue
            seen.add(found)
            for node in self.defined[found[0]][found[1]]:
                todo += self.reads(found[0], node)
        return seen

    def commands(self):
        """What is taken by its name: a module's ``COMMANDS`` names functions of its own or modules of commands."""
        for module, names in self.defined.items():
            for node in names.get("COMMANDS", ()):
                for name in ast.literal_eval(node.value):
                    yield from ((module, name), (f"bloomless.cli.{name}", name), (f"bloomless.cli.{name}", "app"))

    def public(self):
        """What each module gives in ``__all__`` of its own."""
        for module, names in self.defined.items():
            for node in names.get("__all__", ()):
                yield from ((module, name) for name in ast.literal_eval(node.value) if name in names)


def test_every_public_name_is_reached_by_the_product():
    house = House(_trees())
    unreached = defaultdict(set)
    for module, name in set(house.public()) - house.reached():
        unreached[module].add(name)
    assert dict(unreached) == UNREACHED


UNNAMED = {"process_bind_param", "process_result_value", "sharp"}
"""Methods that a library calls on its own base class, and the exact curve that Neumann's solution is met with."""


def _methods(tree):
    """Public methods of the classes of a module, but those that something registers."""
    for of in ast.walk(tree):
        if isinstance(of, ast.ClassDef):
            for node in of.body:
                if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not _is_registered(node):
                    yield from [node.name] if not node.name.startswith("_") else []


def test_every_public_method_is_named_by_the_product():
    trees = _trees().values()
    named = {n.attr for tree in trees for n in ast.walk(tree) if isinstance(n, ast.Attribute)}
    named |= {n.value for tree in trees for n in ast.walk(tree) if isinstance(n, ast.Constant)}
    for page in (*ROOT.rglob("*.html"), *ROOT.rglob("*.j2")):
        named |= set(re.findall(r"\.(\w+)", page.read_text(encoding="utf-8")))
    assert {name for tree in trees for name in _methods(tree)} - named == UNNAMED


def test_what_only_a_test_reads_is_found():
    source = {
        "bloomless.cli.main": "COMMANDS = ('go',)\n",
        "bloomless.cli.go": "from bloomless.room import used\ndef go():\n    used.twice()\n",
        "bloomless.room": "from bloomless.room.inner import used\n",
        "bloomless.room.inner": (
            "__all__ = ['dead', 'helper', 'used']\n"
            "def used(): return helper\n"
            "def helper(): pass\n"
            "def dead(): return dead_too()\n"
            "def dead_too(): pass\n"
        ),
    }
    house = House({name: ast.parse(text) for name, text in source.items()})
    assert set(house.public()) - house.reached() == {("bloomless.room.inner", "dead")}
