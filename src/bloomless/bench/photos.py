"""Photos of the recipe book: kept beside the recipes as documents, so that every copy and export holds them."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from bloomless.bench.ports import Book
from bloomless.bench.recipes import recipe_named, save_recipe

__all__ = ["keep_photo", "photo_bytes", "remove_photo"]


def keep_photo(book: Book, recipe_key: str, photo: Mapping[str, Any], *, at: datetime) -> str:
    """Keep a photo and show it with a recipe; gives its name.

    Parameters
    ----------
    book, recipe_key
        Where it belongs.
    photo
        As ``storage.photos.photo_from`` makes it: ``name``, ``large`` and ``small`` as Base64 of JPEG.
    at
        Now.
    """
    recipe, _ = recipe_named(book, recipe_key)
    book.put("photo", photo["name"], photo, at=at)
    save_recipe(book, replace(recipe, photo=photo["name"]), at=at)
    return str(photo["name"])


def remove_photo(book: Book, recipe_key: str, *, at: datetime) -> None:
    """Show no photo with a recipe any more; older versions keep theirs."""
    recipe, _ = recipe_named(book, recipe_key)
    save_recipe(book, replace(recipe, photo=""), at=at)


def photo_bytes(book: Book, name: str, *, small: bool = False) -> bytes:
    """A photo as JPEG."""
    return base64.b64decode(book.get("photo", name).document["small" if small else "large"])
