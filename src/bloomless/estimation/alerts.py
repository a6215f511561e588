"""The one table of alerts: code, severity, sentence, what to do; code and documentation both read it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import cast, get_args

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation.answers import Alert, OrderName, Severity
from bloomless.sources.tables import read_csv

__all__ = ["alert", "alert_table"]


@cache
def alert_table() -> dict[str, Alert]:
    """Every alert that exists, by code, in the order of the table."""
    table: dict[str, Alert] = {}
    for row in read_csv("bloomless.estimation", "alerts.csv"):
        if row["severity"] not in get_args(Severity):
            raise ImpossibleInput("severity", row["severity"], "say, check or stop")
        table[row["code"]] = Alert(row["code"], cast("Severity", row["severity"]), row["sentence"], row["do"])
    return table


def alert(code: str, detail: str = "", *, order: OrderName | None = None) -> Alert:
    """Alert of a code, with a detail of this bowl (a number and its unit) set before its sentence.

    Parameters
    ----------
    code
        One of the table's codes; anything else raises ``UnknownName``.
    detail
        One short sentence with the number that raised it.
    order
        Which order it speaks of, if it speaks of one.
    """
    table = alert_table()
    if code not in table:
        raise UnknownName("code", code, table)
    known = table[code]
    return replace(known, text=f"{detail} {known.text}" if detail else known.text, order=order)
