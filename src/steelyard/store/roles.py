"""Roles of a PostgreSQL that several stations share: what each may do with each table, and the SQL that makes them.

A role of the yard is a group of PostgreSQL, called after the database: ``yard_weigher``. Each person or program has a
role of its own to log in with, which is a member of one group. The owner's tables belong to the group, and whoever
opens the store as an owner gives the others their rights, so that a new table has them with the step that makes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import Connection, text

from steelyard.store.fault import Reason, StoreError
from steelyard.store.migrations import LOCK

_DATABASE = re.compile("[a-z0-9_-]{1,50}")  # PostgreSQL cuts the names of roles after 63 letters


class YardRole(StrEnum):
    """The roles of a shared store."""

    OWNER = "owner"
    WEIGHER = "weigher"
    READER = "reader"
    BATCH = "batch"


@dataclass(frozen=True, slots=True)
class TableRights:
    """The rights of the roles to one table; the owner has all rights and is not listed.

    Attributes
    ----------
    batch: whether the role ``batch`` may read it; a weigher reads every table.
    reader: the columns that a reader may read; None: all of them; empty: none.
    add: whether a weigher may add rows. change: the columns that a weigher may change, which are counts.
    """

    batch: bool = False
    reader: tuple[str, ...] | None = None
    add: bool = True
    change: tuple[str, ...] = ()


_COUNTS = ("instruments", "vehicles", "cargo", "states", "drafts", "corrections")

RIGHTS: Mapping[str, TableRights] = {
    "store_migrations": TableRights(batch=True, add=False),
    "days": TableRights(batch=True, change=("changed", "size", "seq", *_COUNTS, "links", "head", "searched")),
    "day_texts": TableRights(batch=True),
    "entries": TableRights(batch=True),
    "names": TableRights(batch=True),
    "rule_choices": TableRights(change=("count",)),
    "photograph_records": TableRights(change=("count",)),
    "titles": TableRights(batch=True, change=("count", "title")),
    "put_away": TableRights(batch=True, change=("back", "back_device")),
    "pictures": TableRights(),
    "photos": TableRights(add=False),
    "logs": TableRights(),
    "day_words": TableRights(),
    "links": TableRights(),
    "seals": TableRights(),
    "shelves": TableRights(),
    "devices": TableRights(reader=("number", "id", "name", "role", "created", "revoked"), change=("revoked",)),
    "secrets": TableRights(reader=()),
}
"""By table what the roles may do; a test holds the list to the tables."""


_FUNCTIONS = ("tell_of_addition", "day_only_grows")


def roles_script(database: str) -> str:
    """The SQL that makes the roles of a database, to be run in it by an administrator; harmless to run again.

    Raises
    ------
    StoreError: the name is not one for the database of such a store.
    """
    if _DATABASE.fullmatch(database) is None:
        message = (
            f"the name of a database for several stations has 1 to 50 letters a-z, digits, - and _; {database[:60]!r} "
            "is not such a name"
        )
        raise StoreError(Reason.REFUSED, message)
    owner, weigher, reader, batch = (_named(database, role) for role in YardRole)
    everyone = f"{owner}, {weigher}, {reader}, {batch}"
    return f"""\
-- Roles of the shared store {database}. Run this in that database as an administrator of the server:
-- psql -d {database} -f FILE. It may be run again at any time.
BEGIN;
DO $$
DECLARE
    wanted text;
BEGIN
    IF current_database() <> {_text(database)} THEN
        RAISE EXCEPTION 'this makes the roles of another database than %', current_database();
    END IF;
    FOREACH wanted IN ARRAY ARRAY[{", ".join(_text(f"{database}_{role}") for role in YardRole)}] LOOP
        IF to_regrole(quote_ident(wanted)) IS NULL THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN', wanted);
        END IF;
    END LOOP;
END $$;
REVOKE ALL ON DATABASE "{database}" FROM PUBLIC;
GRANT CONNECT ON DATABASE "{database}" TO {everyone};
REVOKE ALL ON SCHEMA public FROM PUBLIC;
GRANT USAGE ON SCHEMA public TO {everyone};
GRANT CREATE ON SCHEMA public TO {owner};
-- A store that is there already goes over to the owner; the program gives the others their rights.
DO $$
DECLARE
    named text;
BEGIN
    FOREACH named IN ARRAY ARRAY[{", ".join(map(_text, RIGHTS))}] LOOP
        IF to_regclass('public.' || named) IS NOT NULL THEN
            EXECUTE format('ALTER TABLE public.%I OWNER TO %I', named, {_text(f"{database}_owner")});
        END IF;
    END LOOP;
    FOREACH named IN ARRAY ARRAY[{", ".join(map(_text, _FUNCTIONS))}] LOOP
        IF to_regproc('public.' || named) IS NOT NULL THEN
            EXECUTE format('ALTER FUNCTION public.%I() OWNER TO %I', named, {_text(f"{database}_owner")});
        END IF;
    END LOOP;
END $$;
COMMIT;
"""


def act_as_owner(connection: Connection) -> None:
    """Let what the transaction makes belong to the owner's group, where there is one that this role is in."""
    if connection.dialect.name == "postgresql":
        database = _owned(connection)
        if database is not None:
            connection.exec_driver_sql(f"SET LOCAL ROLE {_named(database, YardRole.OWNER)}")


def settle_rights(connection: Connection, *, anew: bool) -> None:
    """Give the roles of the database their rights, if this role is an owner: ``anew``, or where one is lacking."""
    database = _owned(connection)
    if database is None or not (anew or _lacking(connection, database)):
        return
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK})")
    act_as_owner(connection)
    for statement in _grants(database):
        connection.exec_driver_sql(statement)


def _owned(connection: Connection) -> str | None:
    """The name of the database, where its roles were made and this one is in the owner's group."""
    asked = text(
        "SELECT current_database() FROM pg_roles WHERE rolname = current_database() || '_owner' "
        "AND pg_has_role(current_user, oid, 'MEMBER')"
    )
    return connection.execute(asked).scalar()


def _lacking(connection: Connection, database: str) -> bool:
    """Whether a role lacks a right that it is to have."""
    for role in (YardRole.WEIGHER, YardRole.READER, YardRole.BATCH):
        wanted = [(name, right) for name, rights in RIGHTS.items() for right in _wanted(role, rights)]
        names, rights = ([one[part] for one in wanted] for part in (0, 1))
        given = {"role": f"{database}_{role}", "names": names, "rights": rights}
        if not connection.execute(_HAS_ALL, given).scalar():
            return True
    return False


_HAS_ALL = text(
    "SELECT bool_and(has_any_column_privilege(:role, named, right_)) "
    "FROM unnest(CAST(:names AS text[]), CAST(:rights AS text[])) AS pair (named, right_)"
)


def _wanted(role: YardRole, rights: TableRights) -> Iterator[str]:
    """The kinds of rights that a role has to a table."""
    if role is YardRole.WEIGHER:
        yield "SELECT"
        if rights.add:
            yield "INSERT"
        if rights.change:
            yield "UPDATE"
    elif rights.batch if role is YardRole.BATCH else rights.reader != ():
        yield "SELECT"


def _grants(database: str) -> Iterator[str]:
    """The statements that give every role its rights, and that keep a weigher's counts from going back."""
    weigher, reader, batch = (_named(database, role) for role in (YardRole.WEIGHER, YardRole.READER, YardRole.BATCH))
    for name, rights in RIGHTS.items():
        yield f"GRANT SELECT{', INSERT' if rights.add else ''} ON {name} TO {weigher}"
        if rights.change:
            yield f"GRANT UPDATE ({', '.join(rights.change)}) ON {name} TO {weigher}"
        if rights.reader != ():
            columns = "" if rights.reader is None else f" ({', '.join(rights.reader)})"
            yield f"GRANT SELECT{columns} ON {name} TO {reader}"
        if rights.batch:
            yield f"GRANT SELECT ON {name} TO {batch}"
    yield _ONLY_GROWS
    yield "DROP TRIGGER IF EXISTS days_only_grow ON days"
    yield (
        "CREATE TRIGGER days_only_grow BEFORE UPDATE ON days FOR EACH ROW "
        "WHEN (NEW IS DISTINCT FROM OLD) EXECUTE FUNCTION day_only_grows()"
    )


_ONLY_GROWS = """CREATE OR REPLACE FUNCTION day_only_grows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF pg_has_role(current_user, (SELECT relowner FROM pg_class WHERE oid = TG_RELID), 'MEMBER') THEN
        RETURN NEW;
    END IF;
    OLD.searched := NEW.searched;  -- whoever makes the day ready to be found changes nothing of it
    IF NEW IS NOT DISTINCT FROM OLD THEN
        RETURN NEW;
    END IF;
    IF NEW.links <> OLD.links + 1 OR NEW.seq NOT IN (OLD.seq, OLD.seq + 1) OR NEW.size < OLD.size
        OR NEW.instruments < OLD.instruments OR NEW.vehicles < OLD.vehicles OR NEW.cargo < OLD.cargo
        OR NEW.states < OLD.states OR NEW.drafts < OLD.drafts OR NEW.corrections < OLD.corrections THEN
        RAISE EXCEPTION 'permission denied: a day only grows, by one link of its chain at a time'
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NEW;
END $$"""


def _named(database: str, role: YardRole) -> str:
    return f'"{database}_{role}"'


def _text(plain: str) -> str:
    return f"'{plain}'"
