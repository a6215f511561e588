"""Recorded runs: a bench log, or a table of times and temperatures, turned into events."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from datetime import datetime
from typing import Final, Literal

from bloomless.errors import ImpossibleInput
from bloomless.estimation import events as ev
from bloomless.quantities import C_from_F, number_from_text

__all__ = ["readings_from_csv"]

Unit = Literal["C", "F"]

_TIME: Final = re.compile(
    r"(time|t|at|elapsed|seconds?|secs?|s|minutes?|min|timestamp|date|datetime|when)(?:[\W_].*)?", re.IGNORECASE
)
_MINUTES: Final = re.compile(r"(minutes?|min)\b|.*[\[(_ ](min|minutes?)[\])]?$", re.IGNORECASE)
_TEMPERATURE: Final = re.compile(r"(temp|temperature|reading|value|shown|probe|°?[cf])(?:[\W_].*)?", re.IGNORECASE)
_IN_F: Final = re.compile(r"°\s*F|[\[(_ ]F[\])]?$|^F$|fahrenheit|degF", re.IGNORECASE)
_IN_C: Final = re.compile(r"°\s*C|[\[(_ ]C[\])]?$|^C$|celsius|degC", re.IGNORECASE)


def readings_from_csv(
    text: str, *, unit: Unit | None = None
) -> tuple[tuple[ev.Reading, ...], tuple[ImpossibleInput, ...]]:
    """Readings of a table with a time and a temperature column.

    The first row names the columns. Time counts in seconds (or minutes, where the header says so) or is written as
    ISO 8601; the first row is time 0. The unit of temperature is that of the header, such as ``temperature_F`` or
    ``temp (°C)``, else ``unit``; it is never guessed. Comma, semicolon and tab separate cells; a comma may be the
    decimal sign where it does not separate. Rows without a temperature are gaps and are passed over.

    Parameters
    ----------
    text
        The file.
    unit
        Unit of temperatures whose header does not say.

    Returns
    -------
    readings, refused
        Readings in the order of the file, and one error for each row that could not be read.

    Raises
    ------
    ImpossibleInput
        If the file is empty, a column is missing, or the unit is not known.
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if not lines:
        raise ImpossibleInput("file", "", "a header row and at least one reading", code="empty")
    separator = max(";\t,", key=lines[0].count)
    rows = list(csv.reader(lines, delimiter=separator))
    time_column, temperature_column = _columns(rows[0])
    in_F = _is_F(rows[0][temperature_column], unit)
    in_minutes = bool(_MINUTES.match(rows[0][time_column].strip()))
    return _readings(rows[1:], time_column, temperature_column, in_F=in_F, in_minutes=in_minutes)


def _columns(header: Sequence[str]) -> tuple[int, int]:
    names = [name.strip() for name in header]
    times = [index for index, name in enumerate(names) if _TIME.fullmatch(name)]
    temperatures = [index for index, name in enumerate(names) if _TEMPERATURE.fullmatch(name) and index not in times]
    if not times:
        raise ImpossibleInput("header", ", ".join(names), "a column named time, at, seconds, minutes or timestamp")
    if not temperatures:
        raise ImpossibleInput("header", ", ".join(names), "a column named temperature_C or temperature_F")
    return times[0], temperatures[0]


def _is_F(name: str, unit: Unit | None) -> bool:
    if _IN_F.search(name.strip()):
        return True
    if _IN_C.search(name.strip()):
        return False
    if unit is None:
        raise ImpossibleInput("header", name, "a name with its unit, such as temperature_C, or the option --unit")
    return unit == "F"


def _readings(
    rows: Sequence[Sequence[str]], time_column: int, temperature_column: int, *, in_F: bool, in_minutes: bool
) -> tuple[tuple[ev.Reading, ...], tuple[ImpossibleInput, ...]]:
    readings: list[ev.Reading] = []
    refused: list[ImpossibleInput] = []
    first_s = math.nan
    for number, row in enumerate(rows, start=2):
        try:
            if len(row) <= max(time_column, temperature_column):
                raise ImpossibleInput("row", ", ".join(row), "as many cells as the header")
            if not row[temperature_column].strip():
                continue
            at_s = _seconds(row[time_column], in_minutes=in_minutes)
            shown = number_from_text(row[temperature_column], field="temperature", at_least=-30, at_most=266)
            first_s = at_s if math.isnan(first_s) else first_s
            if at_s - first_s < (readings[-1].at_s if readings else 0.0):
                raise ImpossibleInput("time", row[time_column], "not before the row above", code="goes_back")
            readings.append(ev.Reading(at_s - first_s, _checked_C(shown, in_F=in_F)))
        except ImpossibleInput as error:
            refused.append(
                ImpossibleInput(f"line {number}: {error.field}", error.value, error.accepted, code=error.code)
            )
    return tuple(readings), tuple(refused)


def _checked_C(shown: float, *, in_F: bool) -> float:
    temperature_C = C_from_F(shown) if in_F else shown
    if not -30.0 <= temperature_C <= 130.0:
        raise ImpossibleInput("temperature", shown, "-22 to 266 °F" if in_F else "-30 to 130 °C", code="out_of_range")
    return temperature_C


def _seconds(text: str, *, in_minutes: bool) -> float:
    clock = re.fullmatch(r"\s*(?:(\d+):)?(\d{1,2}):(\d{2}(?:\.\d+)?)\s*", text)
    if clock:
        hours, minutes, seconds = clock.groups()
        return int(hours or 0) * 3600 + int(minutes) * 60 + float(seconds)
    if re.match(r"\s*\d{4}-\d{2}-\d{2}", text):
        try:
            # Only differences of one file are used, so a file without zones is as good as one with them.
            when = datetime.fromisoformat(text.strip())
        except ValueError:
            raise ImpossibleInput("time", text, "a time as ISO 8601") from None
        return (when.replace(tzinfo=None) - datetime(2000, 1, 1)).total_seconds()  # noqa: DTZ001
    return number_from_text(text, field="time") * (60.0 if in_minutes else 1.0)
