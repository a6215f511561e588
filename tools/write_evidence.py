"""Write docs/explanation/evidence.md: every number the belief and the advice rest on, and what evidence is worth.

``python tools/write_evidence.py``: the numbers come from the program (`bloomless sources --bowl dark` prints the same);
what evidence is worth is measured in 60 simulated kitchens of seed 964, some two minutes on one core.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator, Mapping
from importlib import resources
from itertools import groupby
from pathlib import Path

from bloomless.estimation.evidence import rests_on
from bloomless.materials.chocolates import KIND_SHIFT_K, WINDOWS
from bloomless.sources import bibliography
from bloomless.sources.sourced import Grade, Sourced
from bloomless.studies.case import CaseSpec
from bloomless.studies.worth import EVIDENCE, worth_case, worth_rows

PAGE = Path("docs/explanation/evidence.md")
SEED, KITCHENS = 964, 60
GRADES = {
    Grade.PUBLISHED: "read in a source that is named",
    Grade.DERIVED: "reckoned from published values",
    Grade.TRADE_PRACTICE: "what the trade does; no measurement behind it was found",
    Grade.FROM_MEMORY: "recalled from a source that could not be read again",
    Grade.ASSUMED: "a starting guess; what it is good for is its spread",
}
GROUPS = {
    "chocolate": "The chocolate",
    "fat": "Cocoa butter",
    "bowl": "Crystals and heat in the bowl",
    "pieces": "Pieces of seed",
    "heating": "Heat in and out",
    "vessel": "Bowls",
    "table": "Surfaces to work on",
    "stirring": "Stirring",
    "seed": "What the seed is: how much of its solid fat lives on, and how much of that is form VI",
    "temper": "In temper",
    "kitchen": "What differs from kitchen to kitchen: learned in the session",
    "cook": "The cook's eye, the thermometer, and the model's own doubt",
}
HEAD = """# What the belief rests on

Every number behind the chance, with how well it is known; made by `python tools/write_evidence.py`, not by hand. The
laws that use them stand in [the bowl](bowl.md), how they become a chance in
[estimation and advice](estimation-and-advice.md).

## What each kind of evidence is worth
"""
WORTH = """
Measured over {kitchens} simulated kitchens (seed {seed}), each piece of evidence for itself: what was believed right
before it and right after. *Temperature, form V, pieces*: what is left of the width of the band that holds nine tenths
of the bowls still possible, median; 1.00 means that nothing was learned. *Miss of the chance*: mean square of the
chance less the truth; less is better.

| evidence | times | temperature | form V | pieces | miss of the chance before | after |
|---|---|---|---|---|---|---|
"""
READ = """
One **check in ice** tells of the temperature as much as many readings. A **reading** tells a little, but comes every
quarter of a minute. A **look** is what tells of lumps, and does most for the chance. Form V is seen by nobody: a look
and a film narrow it a little. **Smears** are asked for seldom, where the belief is in doubt: to keep a bowl without
crystals from being used. They are too few here to say what they do for the chance (25 others, of tuning seeds: 0.058
before, 0.052 after).
"""


def _short(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"


def _worth() -> Iterator[str]:
    told = [one for number in range(KITCHENS) for one in worth_case(CaseSpec(SEED, number))]
    for row in worth_rows(told):
        yield (
            f"| {EVIDENCE[row['what']]} | {row['count']} | {_short(row['temperature'])} | {_short(row['form_v'])} "
            f"| {_short(row['pieces'])} | {row['brier_before']:.4f} | {row['brier_after']:.4f} |"
        )


def _spread(number: Sourced) -> str:
    if number.spread == 0.0:
        return "exact"
    return f"×/÷ {number.spread:.3g}" if number.spread_is == "factor" else f"± {number.spread:.2g}"


def _numbers(numbers: Mapping[str, Sourced]) -> Iterator[str]:
    """One table a group, in the order of the program."""
    for group, rows in groupby(numbers.items(), key=lambda pair: pair[0].split(".")[0]):
        yield f"\n### {GROUPS[group]}\n\n| number | value | spread | unit | known as | source | note |"
        yield "|---|---|---|---|---|---|---|"
        for name, n in rows:
            short = name.removeprefix(f"{group}.").replace("_", " ").replace(".", ", ")
            note = n.note.replace("|", "/")
            yield f"| {short} | {n.value:.4g} | {_spread(n)} | {n.unit} | {n.grade.value} | {n.source} | {note} |"


def _kinds() -> Iterator[str]:
    yield "\n### The four kinds\n\n| kind | melting shift, K | known as | window, °C | known as |"
    yield "|---|---|---|---|---|"
    for kind, shift in KIND_SHIFT_K.items():
        window = WINDOWS[kind]
        yield (
            f"| {kind.replace('_', ' ')} | {shift.value:g} {_spread(shift)} | {shift.grade.value} "
            f"| {window.low.value:g} to {window.high.value:g}, each {_spread(window.low)} | {window.low.grade.value} |"
        )


def _judgements() -> Iterator[tuple[str, str, str, str]]:
    """(module, name, value, what it means) of every number of advice that its module explains."""
    for file in sorted(resources.files("bloomless.advice").iterdir(), key=lambda found: found.name):
        if not file.name.endswith(".py"):
            continue
        tree = ast.parse(file.read_text(encoding="utf-8"))
        bodies = [
            tree.body,
            *(node.body for node in tree.body if isinstance(node, ast.ClassDef) and node.name == "Prices"),
        ]
        for body in bodies:
            yield from ((file.name.removesuffix(".py"), *row) for row in _explained(body))


def _explained(body: list[ast.stmt]) -> Iterator[tuple[str, str, str]]:
    """Numbers of one body, each with what is said of it right below."""
    for node, below in zip(body, [*body[1:], None], strict=True):
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None and _is_number(node.value):
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            said = below.value.value if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant) else ""
            yield ast.unparse(target), ast.unparse(node.value), " ".join(str(said).split())


def _is_number(node: ast.expr) -> bool:
    try:
        value = ast.literal_eval(node)
    except ValueError:
        return False
    return isinstance(value, int | float) and not isinstance(value, bool)


GRADES_TEXT = """
{count} numbers for a bowl of dark chocolate. Most are guesses, which is why nearly every one has a spread. *exact*: a
definition. ± and ×/÷: one standard deviation, as it is and as a factor."""
JUDGED = """
## What advice takes for granted

Judgements, all of them assumed: what things cost in minutes, from when on something is asked for. The names are those
of the code; a number whose name says all has no further words.

| module | number | value | meaning |
|---|---|---|---|"""


def page() -> str:
    """The whole page."""
    numbers = rests_on("dark")
    counted = Counter(number.grade for number in numbers.values())
    used = {number.source for number in numbers.values()}
    lines = [HEAD, WORTH.format(kitchens=KITCHENS, seed=SEED).strip(), *_worth(), READ]
    lines += ["## How well the numbers are known\n\n| known as | numbers | meaning |\n|---|---|---|"]
    lines += [f"| {grade.value} | {counted[grade]} | {meaning} |" for grade, meaning in GRADES.items()]
    lines += [GRADES_TEXT.format(count=len(numbers)), *_kinds(), *_numbers(numbers), JUDGED]
    lines += [f"| {' | '.join(part.replace('|', '/') for part in row)} |" for row in _judgements()]
    lines += ["\n## Sources\n"]
    lines += [
        f"- **{key}**: {one.title} (read: {one.read})" for key, one in sorted(bibliography().items()) if key in used
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
