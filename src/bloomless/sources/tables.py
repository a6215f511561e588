"""The one loader of tables that ship inside the package; every other room of the centre touches no file."""

from __future__ import annotations

import csv
import hashlib
import json
import tomllib
from importlib import resources
from typing import Any

__all__ = ["fingerprint", "names_in", "read_csv", "read_json", "read_text", "read_toml"]


def read_text(package: str, name: str) -> str:
    """Text of a packaged file."""
    return resources.files(package).joinpath(name).read_text(encoding="utf-8")


def names_in(package: str, ending: str) -> tuple[str, ...]:
    """Names of the files of a package that end so, sorted."""
    return tuple(sorted(f.name for f in resources.files(package).iterdir() if f.name.endswith(ending)))


def read_csv(package: str, name: str) -> tuple[dict[str, str], ...]:
    """Rows of a packaged CSV table as dictionaries of text; an extra or a missing cell is an error."""
    rows = tuple(csv.DictReader(read_text(package, name).splitlines(), strict=True))
    for number, row in enumerate(rows, start=2):
        if None in row or None in row.values():
            raise ValueError(f"{package}/{name} line {number}: the row does not have as many cells as the header")
    return rows


def read_json(package: str, name: str) -> Any:
    """Content of a packaged JSON file."""
    return json.loads(read_text(package, name))


def read_toml(package: str, name: str) -> dict[str, Any]:
    """Content of a packaged TOML file."""
    return tomllib.loads(read_text(package, name))


def fingerprint(packages: tuple[str, ...]) -> str:
    """Digest of every file that stands directly in these packages: what compiled code was made from."""
    digest = hashlib.blake2b(digest_size=16)
    for package in packages:
        for file in sorted(resources.files(package).iterdir(), key=lambda found: found.name):
            if file.name.endswith((".py", ".csv", ".toml", ".json")):
                digest.update(file.name.encode())
                digest.update(file.read_bytes())
    return digest.hexdigest()
