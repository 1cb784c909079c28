"""The one room for language: every text that people read goes through one catalogue.

English is the text itself, in the code. A translation is a file of the folder ``locale``,
``LANGUAGE/LC_MESSAGES/halfsplit.po``, read as it is (GNU gettext's text form) and turned into GNU
gettext's tables in memory: nothing compiled lies in the house.

- `say` is a sentence with placeholders in the language now spoken, `say_many` one that counts.
- `msg` marks a text that is said later: names in tables, and words that are kept in a record.
- `say_in` and `msg_in` are the same for a word that a language says in two ways ("warm" that is
  felt, "warm" that is done).
- `retell` says again what stands in a record, which is English whoever worked.

Which language is spoken is the one setting of the house that is not handed on as an argument: it is
a context variable, which threads and coroutines do not see of each other, and `speaking` gives it
back as it was. Nothing that is kept (records, prepared searches, course files) is written through
`say`.
"""

from __future__ import annotations

import gettext
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from io import BytesIO
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from sim.errors import LanguageError

ENGLISH = "en"
#: The environment variable that chooses a language where nobody else does.
VARIABLE = "HALFSPLIT_LANGUAGE"
FOLDER = Path(__file__).parent / "locale"
DOMAIN = "halfsplit"
_SPOKEN: ContextVar[str] = ContextVar("language", default=ENGLISH)
_PLACE = re.compile(r"\\\{(\w+)\\\}")  # a placeholder, as `re.escape` writes it


def languages() -> dict[str, str]:
    """Return the languages there are, by code, each in its own name."""
    found = sorted(file.parents[1].name for file in FOLDER.glob(f"*/LC_MESSAGES/{DOMAIN}.po"))
    return {code: Locale.parse(code).get_display_name() or code for code in (ENGLISH, *found)}


def wanted(language: str = "") -> str:
    """Return the language to speak: what is asked for, else the environment's, else English.

    Raises
    ------
    LanguageError
        There is no such language.
    """
    where = "language" if language else VARIABLE
    code = language or os.environ.get(VARIABLE, "") or ENGLISH
    known = languages()
    if code not in known:
        raise LanguageError(f"{where}: got {code!r}, there are {', '.join(known)}")
    return code


def spoken() -> str:
    """Return the language now spoken."""
    return _SPOKEN.get()


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language for a while.

    Raises
    ------
    LanguageError
        There is no such language.
    """
    token = _SPOKEN.set(wanted(language))
    try:
        yield
    finally:
        _SPOKEN.reset(token)


def msg(text: str) -> str:
    """Return a text as it is; it is in the catalogue, and said later."""
    return text


def msg_in(context: str, text: str) -> str:  # noqa: ARG001 -- the catalogue reads it
    """Return a text as it is; it is in the catalogue under a context, and said by `say_in`."""
    return text


def say_in(context: str, text: str, /) -> str:
    """Return a short word in the language now spoken, as it is said in one context."""
    language = _SPOKEN.get()
    return text if language == ENGLISH else _tables(language).pgettext(context, text)


def say(text: str, /, **values: object) -> str:
    """Return a text in the language now spoken, its placeholders filled in."""
    language = _SPOKEN.get()
    told = text if language == ENGLISH or not text else _tables(language).gettext(text)
    return told.format(**values) if values else told


def say_many(one: str, many: str, count: int, /, **values: object) -> str:
    """Return a text that counts in the language now spoken; ``{n}`` is the count."""
    language = _SPOKEN.get()
    if language == ENGLISH:
        told = one if count == 1 else many
    else:
        told = _tables(language).ngettext(one, many, count)
    return told.format(n=count, **values)


def retell(text: str, patterns: Sequence[str] = ()) -> str:
    """Return a text of a record in the language now spoken; one that nobody knows stays as it is.

    Parameters
    ----------
    text : str
        English, as it was made of a message or of one of the patterns.
    patterns : sequence of str
        Messages with placeholders; what stands in the places is told again the same way.
    """
    if _SPOKEN.get() == ENGLISH or not text:
        return text
    for pattern in (p for p in patterns if say(text) == text):
        match = _expression(pattern).fullmatch(text)
        if match:
            return say(
                pattern,
                **{name: retell(found, patterns) for name, found in match.groupdict().items()},
            )
    return say(text)


@cache
def _expression(pattern: str) -> re.Pattern[str]:
    """Return what a message with placeholders looks like once they are filled in."""
    return re.compile(_PLACE.sub(r"(?P<\1>.+?)", re.escape(pattern)), re.DOTALL)


@cache
def catalogue(language: str) -> Catalog:
    """Return the catalogue of a language other than English."""
    with (FOLDER / language / "LC_MESSAGES" / f"{DOMAIN}.po").open("rb") as file:
        return read_po(file, locale=language, domain=DOMAIN)


@cache
def _tables(language: str) -> gettext.GNUTranslations:
    made = BytesIO()
    write_mo(made, catalogue(language))
    made.seek(0)
    return gettext.GNUTranslations(made)


@cache
def page_words(language: str) -> Mapping[str, str | Sequence[str]]:
    """Return the messages that pages say, English -> theirs; one that counts has its forms.

    They are those that the catalogue found in JavaScript; English needs none.
    """
    if language == ENGLISH:
        return {}
    found: dict[str, str | Sequence[str]] = {}
    for message in catalogue(language):
        on_page = any(file.endswith(".js") for file, _line in message.locations)
        if message.id and message.string and on_page:
            name = message.id if isinstance(message.id, str) else message.id[0]
            found[name] = message.string
    return found
