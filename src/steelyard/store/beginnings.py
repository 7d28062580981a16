"""Words to find a day by: every beginning of those of its title and of its vehicles' names, and its dates."""

from __future__ import annotations

import datetime
import json
import re
import tomllib
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, cast

from sqlalchemy import Connection, insert, text

from steelyard.model import WeighDay
from steelyard.store.schema import WORDS

LONGEST = 16
"""Letters of a word that count: of two words that begin with the same sixteen, each finds the other."""

_MOST_WORDS = 60  # of one day; its dates are besides
_MOST_TERMS = 8
_DATE = re.compile(r"(?<!\d)(\d{4}-\d{2}(?:-\d{2})?)(?!\d)")
_WORD = re.compile(r"[^\W_]+")


def terms_of(typed: str) -> tuple[str, ...]:
    """The words, dates, months and years of a search, each as a row of the table has it.

    Only the first eight count.
    """
    return tuple(dict.fromkeys(word[:LONGEST] for word in _words(typed)))[:_MOST_TERMS]


def beginnings_of(title: str, vehicles: Iterable[str], dates: Iterable[str]) -> list[str]:
    """The rows of a day: of its title, of the names of its vehicles and of its dates, as in ``2026-05-14``."""
    words = dict.fromkeys(word for said in (title, *vehicles) for word in _words(said))
    found = {word[:length] for word in [*words][:_MOST_WORDS] for length in _lengths(word)}
    found |= {date[:length] for date in dates for length in (4, 7, 10)}
    return sorted(found)


def vehicles_and_dates(day: WeighDay) -> tuple[list[str], list[str]]:
    """The names of a day's vehicles, those in words too, and the date on which it was weighed, if it says so."""
    names = [name for key, vehicle in day.vehicles.items() for name in (key, vehicle.name)]
    return names, [] if day.date is None else [day.date.isoformat()]


def vehicles_and_dates_of_text(base: str) -> tuple[list[str], list[str]]:
    """As ``vehicles_and_dates``, of a text that is read and not checked, which takes a seventh of the time."""
    try:
        day: Mapping[str, Any] = tomllib.loads(base)
    except (tomllib.TOMLDecodeError, RecursionError):
        return [], []
    vehicles = _table(day.get("vehicles"))
    names = [str(name) for key, vehicle in vehicles.items() for name in (key, _table(vehicle).get("name", ""))]
    record = _date(_table(day.get("record")).get("date"))
    listed: Any = day.get("drafts")
    drafts = cast("list[object]", listed) if isinstance(listed, list) else []
    dated = [record] if record else [_date(_table(draft).get("at")) for draft in drafts]
    return names, sorted(filter(None, dated))[:1]


def keep(connection: Connection, day: int, rows: list[str]) -> None:
    """Keep the rows of a day; those that it has already stay."""
    if connection.dialect.name == "sqlite":
        statement = insert(WORDS).prefix_with("OR IGNORE")
        connection.execute(statement, [{"word": word, "day": day} for word in rows])
    else:  # one statement, where a row at a time would cost a round of the server each
        given = {"day": day, "words": json.dumps(rows)}
        connection.execute(text(_POSTGRESQL), given)


_POSTGRESQL = """INSERT INTO day_words (word, day)
SELECT value, :day FROM json_array_elements_text(CAST(:words AS json)) ON CONFLICT DO NOTHING"""


def _words(said: str) -> Iterator[str]:
    """Words and dates, without accents and capitals."""
    plain = "".join(letter for letter in unicodedata.normalize("NFKD", said.casefold()) if not _is_accent(letter))
    yield from _DATE.findall(plain)
    yield from _WORD.findall(_DATE.sub(" ", plain))


def _is_accent(letter: str) -> bool:
    return unicodedata.combining(letter) != 0


def _lengths(word: str) -> Iterable[int]:
    """The lengths of the beginnings that are rows; of a date only the year, the month and all of it."""
    return (4, 7, 10)[: (len(word) - 1) // 3] if _DATE.fullmatch(word) else range(1, min(len(word), LONGEST) + 1)


def _table(value: object) -> Mapping[str, Any]:
    return cast("Mapping[str, Any]", value) if isinstance(value, dict) else {}


def _date(value: object) -> str:
    """The date of what a file says, whether it is a date of TOML or a text; empty where it is none."""
    text_ = value.isoformat() if isinstance(value, datetime.date) else value if isinstance(value, str) else ""
    return text_[:10] if _DATE.fullmatch(text_[:10]) else ""
