"""The register of page families: one line each. How to add one: ``docs/how-to/add-a-page.md``."""

from __future__ import annotations

from typing import Final

from bloomless.web import (
    bench_api,
    bench_page,
    book_batch_page,
    book_edit_page,
    book_goods_page,
    book_import_page,
    book_page,
    book_recipe_page,
    book_stock_page,
    book_tools_page,
    home,
    label_records_page,
    labels_page,
    moulds_page,
    past_pages,
    practice_page,
    probes_api,
    probes_page,
    settings_page,
    sign_in,
    today_page,
)
from bloomless.web.families import Family, Group, Link

__all__ = ["FAMILIES", "bench_may", "navigation"]

FAMILIES: Final[tuple[Family, ...]] = (
    home.FAMILY,
    moulds_page.FAMILY,
    bench_api.FAMILY,
    bench_page.FAMILY,
    past_pages.FAMILY,
    today_page.FAMILY,
    practice_page.FAMILY,
    probes_api.FAMILY,
    probes_page.FAMILY,
    book_page.FAMILY,
    label_records_page.FAMILY,
    book_batch_page.FAMILY,
    book_edit_page.FAMILY,
    book_goods_page.FAMILY,
    book_import_page.FAMILY,
    book_recipe_page.FAMILY,
    book_stock_page.FAMILY,
    book_tools_page.FAMILY,
    labels_page.FAMILY,
    settings_page.FAMILY,
    sign_in.FAMILY,
)
_GROUPS: Final[tuple[Group, ...]] = ("Bench", "Kitchen", "Shop", "House")


def bench_may(path: str) -> bool:
    """Whether a device that can only work bowls may open a path."""
    starts = [start for family in FAMILIES for start in family.bench_paths]
    return path == "/" or any(path == start or path.startswith(f"{start}/") for start in starts)


def navigation(role: str | None) -> list[tuple[Group, list[Link]]]:
    """The menu, group by group, with the links a role may follow."""
    links = [link for family in FAMILIES for link in family.links if role != "bench" or bench_may(link.path)]
    ordered = sorted(links, key=lambda link: (link.rank, link.label))
    groups = [(group, [link for link in ordered if link.group == group]) for group in _GROUPS]
    return [(group, members) for group, members in groups if members and role is not None]
