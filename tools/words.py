"""Texts of the screens that a language does not say yet, as a PO file to fill in.

``python tools/words.py de`` looks at everything; names of files after the language (``bench probes_page``) at these.
"""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Collection
from importlib import resources
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from bloomless.web.pages import FAMILIES
from bloomless.web.problems import TITLES
from bloomless.web.words import said_texts, script_texts

PACKAGE = resources.files("bloomless.web")
METHODS = [("templates/**.html", "jinja2.ext:babel_extract"), ("**.py", "python")]
NUMBER = re.compile(r"(?<![\w.])[-−]?\d+(?:[.,]\d+)?")


def texts(only: Collection[str] = ()) -> set[str]:
    """Every text a screen can show; menu, titles of errors and alerts only if ``only`` is empty.

    Parameters
    ----------
    only
        Stems of file names; empty for all.
    """
    keywords = {"_": None, "gettext": None, "ngettext": (1, 2)}
    found = {
        str(message)
        for file, _, message, _, _ in extract_from_dir(str(PACKAGE), method_map=METHODS, keywords=keywords)
        if isinstance(message, str) and (not only or Path(file).stem in only)
    }
    found |= set(script_texts(tuple(only)))
    if only:
        return found
    links = [link for family in FAMILIES for link in family.links]
    return found | {text for link in links for text in (link.label, link.group)} | set(TITLES.values()) | sentences()


def sentences() -> set[str]:
    """Sentences of alerts, with {} for each number."""
    table = resources.files("bloomless.estimation") / "alerts.csv"
    rows = csv.DictReader(io.StringIO(table.read_text(encoding="utf-8")))
    return {NUMBER.sub("{}", row[column]) for row in rows for column in ("sentence", "do") if row[column]}


def missing(language: str, only: Collection[str] = ()) -> list[str]:
    """Texts without a translation."""
    return sorted(texts(only) - said_texts(language))


def main() -> None:
    """Print them."""
    catalogue = Catalog(locale=sys.argv[1])
    for text in missing(sys.argv[1], sys.argv[2:]):
        catalogue.add(text)
    out = io.BytesIO()
    write_po(out, catalogue, width=0, omit_header=True)
    print(out.getvalue().decode())


if __name__ == "__main__":
    main()
