"""An old bench looked at again: with what was known at its end, or with today's program."""

from __future__ import annotations

from bloomless.assembly.craft import CraftMaker, Json
from bloomless.assembly.house import House
from bloomless.assembly.trail import COLUMNS, Trail, thinned
from bloomless.assembly.working import BenchCraft
from bloomless.bench.contract import event_from
from bloomless.errors import BloomlessError, UnknownName

__all__ = ["looked_at_again"]


def looked_at_again(house: House, maker: CraftMaker, session: str) -> Json:
    """Rows of a bench replayed twice: the second time with the thermometer's offset as the whole bench taught it.

    Returns
    -------
    dict
        ``columns``, ``rows`` as today's program believes them live, ``again`` with hindsight, and ``offset_C``: mean
        and standard deviation of shown minus true, ``None`` where nothing was learned.

    Raises
    ------
    UnknownName
        If there is no such bench.
    """
    events = house.log.events(session)
    if not events:
        raise UnknownName("bench", session, ())
    first, craft = _replayed(house, maker, session, None)
    offset = craft.offset_C() if isinstance(craft, BenchCraft) else None
    again = first if offset is None else _replayed(house, maker, session, offset)[0]
    return {
        "columns": COLUMNS,
        "rows": thinned(first.rows),
        "again": thinned(again.rows),
        "offset_C": None if offset is None else [round(offset[0], 2), round(offset[1], 2)],
    }


def _replayed(
    house: House, maker: CraftMaker, session: str, offset: tuple[float, float] | None
) -> tuple[Trail, object]:
    trail, craft, started_at = Trail(), None, None
    for stored in house.log.events(session):
        raw = dict(stored.event)
        if craft is None and offset is not None:
            probe = raw.get("probe")
            said = probe if isinstance(probe, dict) else {}
            raw["probe"] = {**said, "offset_C": round(offset[0], 3), "offset_sd_C": max(0.05, round(offset[1], 3))}
        try:
            line = event_from(raw, session_start=started_at)
            if craft is None:
                started_at = line.when
                craft = maker.begin(line.event, stored.id)  # type: ignore[arg-type]  # the first event is a start
            else:
                craft.take(line.event, stored.id)
        except BloomlessError as error:
            trail.note(stored, None, error, None)
        else:
            trail.note(stored, line.event, None, craft.believed())
    return trail, craft
