"""A line of the bench log done by hands: what is told to be done is done in the true kitchen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from bloomless.errors import UnknownName
from bloomless.kitchens.hands import Hands, Line

__all__ = ["carry_out"]

_Act = Callable[[Hands, Mapping[str, Any]], Line | None]

_ACTS: Final[dict[str, _Act]] = {
    "seed": lambda hands, line: hands.seed(line["mass_g"], line.get("size_mm"), form=line.get("form") or "tempered"),
    "add": lambda hands, line: hands.melt(line["mass_g"], line["temperature_C"]),
    "pour": lambda hands, _: hands.pour(),
    "warm_bath": lambda hands, line: hands.bath("warm_bath", line["bath_C"], line["seconds"]),
    "cool_bath": lambda hands, line: hands.bath("cool_bath", line["bath_C"], line["seconds"]),
    "microwave": lambda hands, line: hands.burst("microwave", line["watts"], line["seconds"]),
    "hot_air": lambda hands, line: hands.burst("hot_air", line["watts"], line["seconds"]),
    "table": lambda hands, line: hands.table(line["share"], line["seconds"]),
    "stir": lambda hands, line: hands.stir(line["vigour"]),
    "look": lambda hands, _: hands.look(),
    "smear": lambda hands, line: hands.smear(line["surface"]),
    "sieve": lambda hands, _: hands.sieve(),
    "remove": lambda hands, line: hands.remove(line["mass_g"]),
    "probe_check": lambda hands, line: hands.check("boiling" if line["method"] == "boiling" else "ice"),
    "finish": lambda hands, line: hands.finish(bool(line["used"])),
}


def carry_out(hands: Hands, line: Mapping[str, Any]) -> Line | None:
    """Do what a line says, with the errors of a hand; the line that is written of it, if any is.

    Parameters
    ----------
    hands
        Whose; their world moves on.
    line
        ``what`` and its fields; no time, it is done now.

    Raises
    ------
    UnknownName
        For what no hand does.
    Misuse
        For metal in a microwave oven.
    """
    if line["what"] not in _ACTS:
        raise UnknownName("what", line["what"], _ACTS)
    return _ACTS[line["what"]](hands, line)
