"""The law in force on a day: rules, figures and tables read from the data of each jurisdiction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache, cached_property
from types import MappingProxyType
from typing import Any, Final, TypeVar

from bloomless.errors import UnknownName
from bloomless.rules.decimals import dec
from bloomless.rules.predicate import Facts, predicate
from bloomless.rules.rule import Figure, Finding, Provenance, Row, Rule, Severity, Status, Table
from bloomless.sources.tables import names_in, read_toml

__all__ = ["JURISDICTIONS", "Law", "all_law", "law_of", "rows_in_force"]

JURISDICTIONS: Final = ("common", "us", "eu", "uk", "codex", "ca")
_META: Final = ("jurisdiction", "topic", "citation", "status", "source", "verified_on", "in_force_from", "note")

P = TypeVar("P", bound=Provenance)


@dataclass(frozen=True)
class Law:
    """Rules, figures and tables; ``on`` narrows them to those that bind on a day."""

    rules: tuple[Rule, ...]
    figures: tuple[Figure, ...]
    tables: tuple[Table, ...]

    # lookups are hot: 20 ms for three markets is what the benchmark holds us to
    @cached_property
    def _figure(self) -> dict[str, Figure]:
        return {figure.id: figure for figure in self.figures}

    @cached_property
    def _table(self) -> dict[str, Table]:
        return {table.id: table for table in self.tables}

    @cached_property
    def _topics(self) -> dict[tuple[str, str], list[Rule]]:
        topics: dict[tuple[str, str], list[Rule]] = {}
        for rule in self.rules:
            topics.setdefault((rule.jurisdiction, rule.topic), []).append(rule)
        return topics

    def on(self, day: date) -> Law:
        """The law that binds on a day; an id may stand several times as long as the periods do not overlap."""
        tables = tuple(rows_in_force(table, day) for table in _in_force(self.tables, day))
        return Law(tuple(_in_force(self.rules, day)), tuple(_in_force(self.figures, day)), tables)

    def figure(self, key: str) -> Decimal:
        """A legal number by id; raises ``UnknownName``."""
        if key not in self._figure:
            raise UnknownName("figure", key, self._figure)
        return self._figure[key].value

    def table(self, key: str) -> Table:
        """A legal table by id; raises ``UnknownName``."""
        if key not in self._table:
            raise UnknownName("table", key, self._table)
        return self._table[key]

    def rows(self, key: str) -> tuple[Row, ...]:
        """Rows of a table."""
        return self.table(key).rows

    def rule(self, key: str) -> Rule:
        """A rule by id; raises ``UnknownName``."""
        for rule in self.rules:
            if rule.id == key:
                return rule
        raise UnknownName("rule", key, [rule.id for rule in self.rules])

    def topic(self, jurisdiction: str, topic: str) -> tuple[Rule, ...]:
        """Rules of one jurisdiction on one topic."""
        return tuple(self._topics.get((jurisdiction, topic), ()))

    def judge(self, jurisdiction: str, topic: str, facts: Facts) -> tuple[Finding, ...]:
        """Findings of every rule of one topic about the facts."""
        found = (rule.finding(facts) for rule in self._topics.get((jurisdiction, topic), ()))
        return tuple(f for f in found if f is not None)


def _in_force(entries: Iterable[P], day: date) -> Iterator[P]:
    seen: set[str] = set()
    for entry in entries:
        if entry.in_force(day):
            if entry.id in seen:
                raise ValueError(f"{entry.id} stands twice on {day}")
            seen.add(entry.id)
            yield entry


def rows_in_force(table: Table, day: date) -> Table:
    """The table with the rows that bind on a day."""
    # a row may have a period of its own, where a list grew over the years
    if not table.rows or "from" not in table.rows[0]:
        return table
    return replace(table, rows=tuple(row for row in table.rows if row["from"] <= day <= row["to"]))


def _numbers(value: Any) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return dec(value)
    if isinstance(value, list):
        return tuple(_numbers(v) for v in value)
    if isinstance(value, dict):
        return MappingProxyType({key: _numbers(v) for key, v in value.items()})
    return value


def _entry(raw: Mapping[str, Any], defaults: Mapping[str, Any]) -> dict[str, Any]:
    entry = {**{key: defaults[key] for key in _META if key in defaults}, **raw}
    entry["status"] = Status(entry["status"])
    return entry


def _table(raw: Mapping[str, Any], defaults: Mapping[str, Any]) -> Table:
    entry = _entry(raw, defaults)
    columns = entry.pop("columns")
    rows = entry.pop("rows")
    if any(len(row) != len(columns) for row in rows):
        raise ValueError(f"table {entry['id']}: a row does not have {len(columns)} cells")
    entry["rows"] = tuple(MappingProxyType(dict(zip(columns, _numbers(row), strict=True))) for row in rows)
    return Table(**entry)


def _with_twins(rule: Rule, defaults: Mapping[str, Any]) -> list[Rule]:
    """The rule, and its twins where another jurisdiction retained it word for word (``also`` in the defaults)."""
    twins = [
        replace(
            rule,
            id=f"{other}.{rule.id.split('.', 1)[1]}",
            jurisdiction=other,
            citation=f"{rule.citation}, as retained",
        )
        for other in defaults.get("also", ())
        if rule.jurisdiction == defaults["jurisdiction"]
    ]
    return [rule, *twins]


def _file(package: str, name: str) -> tuple[list[Rule], list[Figure], list[Table]]:
    raw = read_toml(package, name)
    defaults = raw.get("defaults", {})
    rules, figures = [], []
    for given in raw.get("rule", ()):
        entry = _entry(given, defaults)
        rules += _with_twins(Rule(**{**entry, "severity": Severity(entry.get("severity", "block"))}), defaults)
    for given in raw.get("figure", ()):
        entry = _entry(given, defaults)
        figures.append(Figure(**{**entry, "value": dec(entry["value"])}))
    for rule in rules:
        predicate(rule.breach), rule.applies and predicate(rule.applies)  # a broken table shows when it is read
    return rules, figures, [_table(given, defaults) for given in raw.get("table", ())]


@cache
def all_law() -> Law:
    """Everything the package knows, of all days."""
    rules: list[Rule] = []
    figures: list[Figure] = []
    tables: list[Table] = []
    for jurisdiction in JURISDICTIONS:
        package = f"bloomless.rules.{jurisdiction}"
        for name in names_in(package, ".toml"):
            more_rules, more_figures, more_tables = _file(package, name)
            rules += more_rules
            figures += more_figures
            tables += more_tables
    return Law(tuple(rules), tuple(figures), tuple(tables))


@cache
def law_of(day: date) -> Law:
    """The law in force on a day.

    Parameters
    ----------
    day
        Day of packing or sale; the label of any day can be made again as of that day.
    """
    return all_law().on(day)
