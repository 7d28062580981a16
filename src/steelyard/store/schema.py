"""The tables as they are after the last migration; what the queries are written in.

Nothing here makes a table: ``migrations.py`` does, step by step, and a test holds the two together.
"""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Identity,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    text,
)

METADATA = MetaData()

MIGRATIONS = Table(
    "store_migrations",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("name", Text, nullable=False),
    Column("applied", Text, nullable=False),
    Column("program", Text, nullable=False),
    Column("usable_from", Integer),  # form of the oldest program that may use the store after this step; None: its own
)

DAYS = Table(
    "days",
    METADATA,
    Column("number", Integer, Identity(), primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("title", Text, nullable=False),
    Column("created", Text, nullable=False),
    Column("changed", Text, nullable=False),
    Column("size", Integer, nullable=False),  # bytes of the whole text, so that its limit costs no counting
    Column("seq", Integer, nullable=False),
    Column("instruments", Integer, nullable=False),
    Column("vehicles", Integer, nullable=False),
    Column("cargo", Integer, nullable=False),
    Column("states", Integer, nullable=False),
    Column("drafts", Integer, nullable=False),
    Column("corrections", Integer, nullable=False),
    Column("links", Integer, nullable=False),  # number of the newest link of its chain, which begins with 0
    Column("head", Text, nullable=False),  # the digest of that link
    Column("searched", Integer, nullable=False),  # 1: ready to be found; 0: not yet, or a vehicle came since
    Index("days_not_searched", "number", sqlite_where=text("searched = 0")),
)

WORDS = Table(  # see ``beginnings.py``
    "day_words",
    METADATA,
    Column("word", Text, primary_key=True),
    Column("day", Integer, primary_key=True, autoincrement=False),
)

TEXTS = Table(
    "day_texts",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("base", Text, nullable=False),
    Column("open_base", Text),  # the same day in a form that can grow, where the base cannot
)

ENTRIES = Table(
    "entries",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("at", Text),
    Column("received", Text, nullable=False),
    UniqueConstraint("day", "key", name="entries_day_key"),
)

NAMES = Table(
    "names",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("kind", Text, primary_key=True),
    Column("name", Text, primary_key=True),
    Column("number", Integer, nullable=False),
    Column("seq", Integer, nullable=False),
    Index("names_kind_name_day", "kind", "name", "day"),
)

CHOICES = Table(  # of rules of the road; a day without a row has none
    "rule_choices",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("count", Integer, nullable=False),
)

RECORDS = Table(  # of photographs; a day without a row has none
    "photograph_records",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("count", Integer, nullable=False),
)

TITLES = Table(  # of days that were renamed: how many later titles the text has, and the one that counts
    "titles",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("count", Integer, nullable=False),
    Column("title", Text, nullable=False),
)

PUT_AWAY = Table(  # see ``lists.py``
    "put_away",
    METADATA,
    Column("kind", Text, primary_key=True),
    Column("name", Text, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("since", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("back", Text),  # when it was brought back; a row without is one that is away now
    Column("back_device", Text),
    Index("put_away_now", "kind", "name", unique=True, sqlite_where=text("back IS NULL")),
)

PICTURES = Table(  # the bytes of photographs, by the digest in the text of their day
    "pictures",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("sha256", Text, primary_key=True),
    Column("media_type", Text, nullable=False),
    Column("data", LargeBinary, nullable=False),
    Column("device", Text, nullable=False),
    Column("received", Text, nullable=False),
)

PHOTOS = Table(  # of drafts, as they were kept before their digests were: only read
    "photos",
    METADATA,
    Column("day", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("draft", Text, primary_key=True),
    Column("media_type", Text, nullable=False),
    Column("data", LargeBinary, nullable=False),
    Column("device", Text, nullable=False),
    Column("received", Text, nullable=False),
    ForeignKeyConstraint(["day", "kind", "draft"], ["names.day", "names.kind", "names.name"]),
)

LOGS = Table(
    "logs",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("key", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("received", Text, nullable=False),
    UniqueConstraint("day", "key", name="logs_day_key"),
)

LINKS = Table(  # see ``chain.py``
    "links",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("link", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("number", Integer, nullable=False),
    Column("key", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("received", Text, nullable=False),
    Column("at", Text),
    Column("content", Text, nullable=False),
    Column("made", Text, nullable=False),
    Column("digest", Text, nullable=False),
)

SEALS = Table(
    "seals",
    METADATA,
    Column("day", Integer, ForeignKey("days.number"), primary_key=True, autoincrement=False),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("seq", Integer, nullable=False),
    Column("person", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("head", Text, nullable=False),  # that the seal names of the chain of the day; empty: none
    Column("data", LargeBinary, nullable=False),
    Column("findings", LargeBinary, nullable=False),
    Column("device", Text, nullable=False),
    Column("received", Text, nullable=False),
)

SHELVES = Table(
    "shelves",
    METADATA,
    Column("shelf", Text, primary_key=True),
    Column("name", Text, primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("text", Text, nullable=False),
    Column("learned", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("saved", Text, nullable=False),
)

DEVICES = Table(
    "devices",
    METADATA,
    Column("number", Integer, Identity(), primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("created", Text, nullable=False),
    Column("revoked", Text),
)

SECRETS = Table(
    "secrets",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("value", LargeBinary, nullable=False),
    Column("created", Text, nullable=False),
)
