"""Search of days by words and dates; the newest day first, a page at a time.

The rows of ``beginnings`` stand in an index by word and day. A page of results reads its own rows there and few others,
however many days the store has. A day that came from a program that keeps no such rows, or got another vehicle, gets
them before the next search: the days that are not ready have an index of their own.
"""

from __future__ import annotations

from sqlalchemy import Connection, func, select, text, update

from steelyard.dayfile import Part
from steelyard.store.beginnings import beginnings_of, keep, terms_of, vehicles_and_dates_of_text
from steelyard.store.days import number_of_day, title_of_block
from steelyard.store.lists import is_listed, line_of, lines
from steelyard.store.records import Away, DayId, FoundDays
from steelyard.store.schema import DAYS, ENTRIES, MIGRATIONS, NAMES, TEXTS, WORDS
from steelyard.store.words import MOST

STEP = "search"
"""The step of the store's form that made the tables of this file."""

LOOKED_AT = 2_000
"""Days with one of its words, and perhaps not the others, that a search looks at; then it says where it stopped."""

_NOT_READY = text("searched = 0")
"""Not with a parameter, which would keep SQLite from the index."""


def search(connection: Connection, typed: str, limit: int, before: DayId | None, away: Away) -> FoundDays:
    """The newest days that have every word of ``typed``, those made before ``before`` only.

    Raises
    ------
    StoreError: no such day as ``before``.
    """
    edge = MOST if before is None else number_of_day(connection, before)
    terms = terms_of(typed)
    if not terms or limit < 1:
        return FoundDays((), None)
    first, *others = _rarest_first(connection, terms, edge)
    floor = _floor(connection, first, edge) if others else None
    query = lines().join(WORDS, DAYS.c.number == WORDS.c.day)
    query = query.where(WORDS.c.word == first, WORDS.c.day < edge, WORDS.c.day >= (floor or 0))
    if away is not Away.WITH:
        query = query.where(is_listed(away))
    for index, term in enumerate(others):
        other = WORDS.alias(f"other_{index}")
        # a subquery that gives a value, not EXISTS: PostgreSQL would turn that into reading all days of the other word
        has = select(1).where(other.c.word == term, other.c.day == WORDS.c.day)
        query = query.where(has.scalar_subquery() == 1)
    rows = connection.execute(query.order_by(WORDS.c.day.desc()).limit(limit + 1)).all()
    days = tuple(line_of(row) for row in rows[:limit])
    if len(rows) > limit:
        return FoundDays(days, days[-1].id)
    if floor is None:
        return FoundDays(days, None)
    stopped = line_of(connection.execute(lines().where(DAYS.c.number == floor)).one())
    return FoundDays(days, stopped.id, stopped.created)


def _floor(connection: Connection, word: str, edge: int) -> int | None:
    """The last of the days with a word that one search looks at; None where there are not so many."""
    own = select(WORDS.c.day).where(WORDS.c.word == word, WORDS.c.day < edge)
    return connection.execute(own.order_by(WORDS.c.day.desc()).offset(LOOKED_AT - 1).limit(1)).scalar()


def _rarest_first(connection: Connection, terms: tuple[str, ...], edge: int) -> list[str]:
    """The words, the one first that fewest days have, or the longest where all are common."""
    if len(terms) == 1:
        return list(terms)

    def count(term: str) -> int:
        some = select(WORDS.c.day).where(WORDS.c.word == term, WORDS.c.day < edge).order_by(WORDS.c.day.desc())
        return connection.execute(select(func.count()).select_from(some.limit(LOOKED_AT).subquery())).scalar_one()

    return sorted(terms, key=lambda term: (count(term), -len(term), term))


def is_behind(connection: Connection) -> bool:
    """Whether there are days that are not ready to be found."""
    if connection.execute(select(MIGRATIONS.c.number).where(MIGRATIONS.c.name == STEP)).first() is None:
        return False
    return connection.execute(select(DAYS.c.number).where(_NOT_READY).limit(1)).first() is not None


def catch_up(connection: Connection, most: int) -> int:
    """Make at most so many days ready to be found, the newest first; how many there were."""
    query = select(DAYS.c.number, DAYS.c.title, DAYS.c.created).where(_NOT_READY)
    query = query.order_by(DAYS.c.number.desc()).limit(most).with_for_update(skip_locked=True)
    rows = connection.execute(query).all()
    for row in rows:
        own = select(NAMES.c.name).where(NAMES.c.day == row.number, NAMES.c.kind == Part.VEHICLE)
        names = [*connection.execute(own).scalars()]
        base = connection.execute(select(TEXTS.c.base).where(TEXTS.c.day == row.number)).scalar() or ""
        added = select(ENTRIES.c.text).where(ENTRIES.c.day == row.number, ENTRIES.c.kind == Part.VEHICLE)
        dates = [row.created[:10]]
        for block in (base, *connection.execute(added).scalars()):
            more_names, more_dates = vehicles_and_dates_of_text(block)
            names, dates = names + more_names, dates + more_dates
        later = select(ENTRIES.c.text).where(ENTRIES.c.day == row.number, ENTRIES.c.kind == Part.TITLE)
        titles = [row.title, *map(title_of_block, connection.execute(later).scalars())]
        keep(connection, row.number, beginnings_of(" ".join(titles), names, dates))
        connection.execute(update(DAYS).where(DAYS.c.number == row.number).values(searched=1))
    return len(rows)
