"""What the whole house is set to: a document of the book, kind ``settings``, key ``house``."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Final

from bloomless.assembly import House
from bloomless.errors import StorageFailure, UnknownName

__all__ = ["COUNTRIES", "KEY", "KIND", "HouseSettings"]

KIND: Final = "settings"
KEY: Final = "house"
COUNTRIES: Final = ("EU", "GB", "US", "CA", "AU", "CH", "other")
"""Whose rules are asked for; rooms that know a law choose by it."""
_FRESH_s: Final = 2.0


class HouseSettings:
    """Settings of the house, read from the book at most every two seconds."""

    def __init__(self, house: House) -> None:
        self.house = house
        self._kept: dict[str, str] = {}
        self._read_at = -1e9

    def current(self) -> dict[str, str]:
        """The settings; empty before the first start. If the book cannot be read, those read last."""
        if time.monotonic() - self._read_at > _FRESH_s:
            self._read_at = time.monotonic()
            try:
                document = self.house.book.get(KIND, KEY).document
                self._kept = {key: str(value) for key, value in document.items()}
            except UnknownName:
                self._kept = {}
            except StorageFailure:
                pass
        return self._kept

    def change(self, wishes: Mapping[str, str]) -> None:
        """Write changed settings into the book."""
        self._read_at = -1e9
        document = self.current() | dict(wishes)
        self.house.book.put(KIND, KEY, document, at=self.house.clock())
        self._read_at = -1e9
