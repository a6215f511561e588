"""Words: English stands in templates and modules; every other language is a folder of PO files, read at the start."""

from __future__ import annotations

import hashlib
import io
import json
import re
from functools import cache
from importlib import resources
from typing import Final

from babel import Locale
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.support import NullTranslations, Translations

__all__ = [
    "LANGUAGES",
    "chosen_language",
    "language_name",
    "said_texts",
    "script_texts",
    "script_words",
    "translations",
    "words_version",
]

LANGUAGES: Final = ("en", "de")
SENTENCES: Final = "sentences.po"
_PACKAGE: Final = "bloomless.web"
# t("…") in an ES module: double quotes only, so that one pattern finds every text.
_SCRIPT_TEXT: Final = re.compile(r'\bt\(\s*"((?:[^"\\]|\\.)*)"')


@cache
def translations(language: str) -> NullTranslations:
    """Texts of a language; English is what stands in the source."""
    if language == "en" or language not in LANGUAGES:
        return NullTranslations()
    merged: Translations | None = None
    folder = resources.files(_PACKAGE) / "words" / language
    for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if file.name.endswith(".po"):
            catalogue = read_po(io.BytesIO(file.read_bytes()), locale=language)
            compiled = io.BytesIO()
            write_mo(compiled, catalogue)
            compiled.seek(0)
            part = Translations(compiled)
            merged = part if merged is None else merged.merge(part)
    return merged or NullTranslations()


def said_texts(language: str) -> frozenset[str]:
    """Texts that a language says, be it with the same word."""
    folder = resources.files(_PACKAGE) / "words" / language
    files = [file for file in folder.iterdir() if file.name.endswith(".po")] if folder.is_dir() else []
    return frozenset(
        str(message.id) for file in files for message in read_po(io.BytesIO(file.read_bytes())) if message.string
    )


def chosen_language(wish: str | None, accept_language: str = "") -> str:
    """The language to speak: the one wished for, else the first of the browser's that we know, else English."""
    if wish in LANGUAGES:
        return str(wish)
    for part in accept_language.split(","):
        code = part.split(";")[0].strip().lower().split("-")[0]
        if code in LANGUAGES:
            return code
    return "en"


def language_name(code: str) -> str:
    """Name of a language in that language."""
    name = Locale(code).get_display_name(code) or code
    return name[:1].upper() + name[1:]


@cache
def script_texts(only: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Texts of the ES modules, of all or of those with these names."""
    found: set[str] = set()
    for file in (resources.files(_PACKAGE) / "static").iterdir():
        if file.name.endswith(".js") and (not only or file.name.removesuffix(".js") in only):
            source = file.read_text(encoding="utf-8")
            found |= {json.loads(f'"{text}"') for text in _SCRIPT_TEXT.findall(source)}
    return tuple(sorted(found))


@cache
def _sentences(language: str) -> tuple[str, ...]:
    """Sentences of alerts, reasons and errors: they come with numbers in them, and stand here with {} for each."""
    file = resources.files(_PACKAGE) / "words" / language / SENTENCES
    if language == "en" or not file.is_file():
        return ()
    return tuple(str(message.id) for message in read_po(io.BytesIO(file.read_bytes())) if message.id)


@cache
def words_version(language: str) -> str:
    """Short hash of the texts; stands in the address of the module that carries them."""
    return hashlib.sha256(script_words(language).encode()).hexdigest()[:10]


@cache
def script_words(language: str) -> str:
    """An ES module that carries the texts the other modules use, in one language."""
    known = translations(language)
    words = {text: known.gettext(text) for text in (*script_texts(), *_sentences(language))}
    words = {text: said for text, said in words.items() if said != text}
    return f"export default {json.dumps(words, ensure_ascii=False)};\n"
