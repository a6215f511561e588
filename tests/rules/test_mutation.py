"""A mutation of any rule turns a check red: every number, sign and row of the law is bent, one at a time.

For each mutant only the checks that asked the bent entry are run; a mutant that survives them all fails this test.
Mutants known to change no lawful answer are named in ``EQUIVALENT`` with the reason.
"""

import ast
from dataclasses import replace
from decimal import Decimal
from functools import cache
from types import MappingProxyType

import pytest

from bloomless.rules.law import JURISDICTIONS, Law, all_law, rows_in_force
from bloomless.rules.rule import Rule, Table
from rules.boundaries import BOUNDARIES
from rules.checks import CHECKS, MORE

ALL = {**CHECKS, **MORE, **BOUNDARIES}
SENTINEL = Decimal(1000)  # an open upper end of a table of bands
SHIFTS = (Decimal("1.04"), Decimal("0.96"))

LIMIT_SHIFTS = (Decimal("1.12"), Decimal("0.88"))
COUNTS = {"eu.double_plan", "eu.destructive_plan", "us.hb133_sample", "us.fractions"}  # whole numbers move by one
COUNT_COLUMNS = {"quiet_left", "quiet_right"}

EQUIVALENT = {
    ("eu.tne", "closed"): "both readings of the table agree at 50, 100, 200, 300 and 500 (sheet 5.3)",
    ("eu.tolerance", "closed"): "absolute and relative tolerance agree at the bounds of 10, 40 and 4",
    ("us.serving_grams", "closed"): "2 and 5 g round alike in both rows",
    ("us.servings", "closed"): "2 and 5 servings round alike in both rows",
    ("us.vitamin_percent", "closed"): "10 and 50 % round alike in both rows",
    ("us.units_per_serving", "closed"): "at half and at 0.67 of the reference amount both answers are lawful",
}
HARMLESS = {
    "us.mav row 0 closed = False": "10 % of 36 g is the 3.6 g of the next row",
    "us.rounding row 1 closed = False": "50 kcal is 50 in steps of 5 and of 10",
    "us.rounding row 4 closed = True": "5 g is 5 g in steps of 0.5 and of 1",
    "us.rounding row 10 closed = False": "140 mg is 140 mg in steps of 5 and of 10",
    "us.hb133_sample row 0 limit = 12": "of a lot of 12 every package is weighed either way",
    "us.servings row 0 taken out": "fewer than two servings are a single-serving package",
    "us.servings row 0 line = servingsx": "as above",
    "us.servings row 0 limit = 2.24": "2 to 2.24 servings round to 2 either way",
    "us.servings row 0 limit = 1.76": "as above",
    "us.servings row 0 step = 1.04": "as above",
    "us.servings row 0 step = 0.96": "as above",
}


class Watched(Law):
    """A law that remembers what it was asked."""

    asked: set

    def on(self, day):
        law = super().on(day)
        watched = Watched(law.rules, law.figures, law.tables)
        object.__setattr__(watched, "asked", self.asked)
        return watched

    def figure(self, key):
        self.asked.add(("figure", key))
        return super().figure(key)

    def table(self, key):
        self.asked.add(("table", key))
        return super().table(key)

    def topic(self, jurisdiction, topic):
        self.asked.add(("topic", jurisdiction, topic))
        return super().topic(jurisdiction, topic)

    def judge(self, jurisdiction, topic, facts):
        self.asked.add(("topic", jurisdiction, topic))
        return super().judge(jurisdiction, topic, facts)

    def rule(self, key):
        self.asked.add(("rule", key))
        return super().rule(key)


@pytest.fixture(scope="module")
def readers():
    """Entry of the law → the checks that ask it."""
    found = {}
    for name, check in ALL.items():
        law = Watched(*(getattr(all_law(), part) for part in ("rules", "figures", "tables")))
        object.__setattr__(law, "asked", set())
        check(law.on)
        for entry in law.asked:
            found.setdefault(entry, []).append(name)
    return found


@cache
def packaged(day):
    return all_law().on(day)


def survives(old, new, names):
    """Whether all the named checks still pass with one entry of the law in place of another."""
    kind = {"Rule": "rules", "Figure": "figures", "Table": "tables"}[type(old).__name__]
    days = {}

    def on(day):
        if day not in days:
            law = packaged(day)
            if old.in_force(day):
                rest = tuple(entry for entry in getattr(law, kind) if entry.id != old.id)
                bent = (new,)
                if kind == "tables":
                    bent = tuple(rows_in_force(table, day) for table in bent)
                law = replace(law, **{kind: (*rest, *bent)})
            days[day] = law
        return days[day]

    for name in names:
        try:
            ALL[name](on)
        except (Exception, pytest.fail.Exception):
            return False
    return True


def bent_text(text):
    """Every predicate with one number moved, and the whole of it turned round."""
    yield f"not ({text})"
    tree = ast.parse(text, mode="eval")
    numbers = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and type(n.value) in {int, float}]
    for node in numbers:
        true = node.value
        for moved in (true * 1.04, true * 0.96) if true else (0.5,):
            node.value = moved
            yield ast.unparse(tree)
        node.value = true


def mutants_of_rule(rule):
    yield "silent", replace(rule, breach="1 > 2")
    severity = "info" if rule.severity != "info" else "block"
    bent = [replace(rule, breach=text) for text in bent_text(rule.breach)]
    bent += [replace(rule, severity=type(rule.severity)(severity))]
    bent += [replace(rule, applies=f"not ({rule.applies})")] if rule.applies else []
    for one in bent:
        yield f"{one.applies} | {one.breach} [{one.severity}]", one


def _bent_cells(table):
    for number, row in enumerate(table.rows):
        yield f"row {number} taken out", (*table.rows[:number], *table.rows[number + 1 :])
        for column, cell in row.items():
            if (
                (table.id, column) in EQUIVALENT
                or (table.id, "*") in EQUIVALENT
                or column in {"words", "citation", "title"}
            ):
                continue
            changed = list(_bent(table.id, cell, column, row))
            for value in changed:
                new = MappingProxyType({**row, column: value})
                yield f"row {number} {column} = {value}", (*table.rows[:number], new, *table.rows[number + 1 :])


def _bent(table, cell, column, row):
    if isinstance(cell, bool):
        if not (column.endswith("closed") and _open(row, column)):
            yield not cell
    elif isinstance(cell, Decimal):
        if column in COUNT_COLUMNS or (table in COUNTS and cell < SENTINEL * 9):
            yield from (cell + 1, cell - 1)
        elif cell and not (column == "limit" and cell >= SENTINEL * 9):
            yield from (cell * shift for shift in (LIMIT_SHIFTS if column == "limit" else SHIFTS))
    elif isinstance(cell, str) and cell:
        yield cell + "x"


def _open(row, column):
    limit = row["ph_limit" if column == "ph_closed" else "limit"]
    return limit >= SENTINEL or limit in {14, 1}


def mutants_of_table(table):
    if (table.id, "*") in EQUIVALENT:
        return
    for words, rows in _bent_cells(table):
        yield words, replace(table, rows=rows)


def mutants_of_figure(figure):
    for shift in SHIFTS:
        yield f"= {figure.value * shift}", replace(figure, value=figure.value * shift)


def asked_by(entry):
    if isinstance(entry, Rule):
        return [("rule", entry.id), ("topic", entry.jurisdiction, entry.topic)]  # its own limits first: they are quick
    return [("table" if isinstance(entry, Table) else "figure", entry.id)]


def survivors(entries, mutants_of, readers):
    left = []
    for entry in entries:
        names = list(dict.fromkeys(name for asked in asked_by(entry) for name in readers.get(asked, ())))
        left += [f"{entry.id} {words}" for words, new in mutants_of(entry) if survives(entry, new, names)]
    return [words for words in left if words not in HARMLESS]


def test_an_unbent_law_survives(readers):
    for entry in (all_law().rules[0], all_law().figures[0], all_law().tables[0], all_law().rule("us.milk.liquor")):
        names = [name for asked in asked_by(entry) for name in readers.get(asked, ())]
        assert names
        assert survives(entry, entry, names)


@pytest.mark.parametrize("jurisdiction", JURISDICTIONS)
def test_every_bent_rule_is_found(jurisdiction, readers):
    rules = [rule for rule in all_law().rules if rule.jurisdiction == jurisdiction]
    assert survivors(rules, mutants_of_rule, readers) == []


def test_every_bent_table_is_found(readers):
    assert survivors(all_law().tables, mutants_of_table, readers) == []


def test_every_bent_figure_is_found(readers):
    assert survivors(all_law().figures, mutants_of_figure, readers) == []
