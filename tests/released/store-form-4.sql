BEGIN TRANSACTION;
CREATE TABLE day_texts (
            day INTEGER NOT NULL PRIMARY KEY REFERENCES days (number), base TEXT NOT NULL, open_base TEXT
        ) STRICT;
INSERT INTO "day_texts" VALUES(1,'format = 1
title = "Ferry landing"
units = { mass = "lb", length = "in" }

[instruments.p1]
kind = "pad"
capacity = "12000 lb"
division = "20 lb"
[instruments.p2]
kind = "pad"
capacity = "12000 lb"
division = "20 lb"

[vehicles.van]
role = "towing"
[[vehicles.van.axles]]
x = "0 in"
track = "64 in"
[[vehicles.van.axles]]
x = "140 in"
track = "64 in"

[cargo.driver]
on = "van"
mass = "180 lb"
x = "50 in"

[states.solo]
vehicles = ["van"]
cargo = ["driver"]

[[drafts]]
key = "first"
state = "solo"
readings = { "van/1L" = ["p1", 1800], "van/1R" = ["p2", 1820] }
',NULL);
INSERT INTO "day_texts" VALUES(2,'format = 1
title = "Ferry landing"
units = { mass = "lb", length = "in" }
states = { }
drafts = []
','format = 1
title = "Ferry landing"
units = { mass = "lb", length = "in" }
');
CREATE TABLE days (
            number INTEGER NOT NULL PRIMARY KEY, id TEXT NOT NULL UNIQUE, title TEXT NOT NULL,
            created TEXT NOT NULL, changed TEXT NOT NULL, size INTEGER NOT NULL, seq INTEGER NOT NULL,
            instruments INTEGER NOT NULL, vehicles INTEGER NOT NULL, cargo INTEGER NOT NULL,
            states INTEGER NOT NULL, drafts INTEGER NOT NULL, corrections INTEGER NOT NULL
        ) STRICT;
INSERT INTO "days" VALUES(1,'kqfwhcshbf','Ferry landing','2026-11-25T08:51:43.552+00:00','2026-11-25T08:51:43.684+00:00',876,5,2,1,2,2,3,1);
INSERT INTO "days" VALUES(2,'ycwhyttuyc','Ferry landing','2026-11-25T08:51:43.727+00:00','2026-11-25T08:51:43.727+00:00',74,0,0,0,0,0,0,0);
CREATE TABLE devices (
            number INTEGER NOT NULL PRIMARY KEY, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL, role TEXT NOT NULL,
            token_hash TEXT NOT NULL UNIQUE, created TEXT NOT NULL, revoked TEXT
        ) STRICT;
INSERT INTO "devices" VALUES(1,'qp5vmn7v3b','tablet','weigh','hash-1','2026-11-25T08:51:43.828+00:00',NULL);
INSERT INTO "devices" VALUES(2,'ufese389kb','phone','look','hash-2','2026-11-25T08:51:43.859+00:00','2026-11-25T08:51:43.879+00:00');
CREATE TABLE entries (
            day INTEGER NOT NULL REFERENCES days (number), seq INTEGER NOT NULL, kind TEXT NOT NULL,
            key TEXT NOT NULL, number INTEGER NOT NULL, text TEXT NOT NULL, device TEXT NOT NULL,
            at TEXT, received TEXT NOT NULL,
            PRIMARY KEY (day, seq), CONSTRAINT entries_day_key UNIQUE (day, key)
        ) STRICT;
INSERT INTO "entries" VALUES(1,1,'drafts','k1',2,'[[drafts]]
key = "k1"
state = "solo"
readings = { "van/2L" = ["p1", 1500] }
','tablet','2026-05-14T09:12:00.250000-03:30','2026-11-25T08:51:43.589+00:00');
INSERT INTO "entries" VALUES(1,2,'cargo','k2',2,'[cargo.crate]
on = "van"
x = "120 in"
','',NULL,'2026-11-25T08:51:43.614+00:00');
INSERT INTO "entries" VALUES(1,3,'states','k3',2,'[states.empty]
vehicles = ["van"]
','',NULL,'2026-11-25T08:51:43.636+00:00');
INSERT INTO "entries" VALUES(1,4,'corrections','k4',1,'[[corrections]]
draft = "k1"
place = "van/2L"
value = 1540
reason = "misread"
','',NULL,'2026-11-25T08:51:43.664+00:00');
INSERT INTO "entries" VALUES(1,5,'drafts','k5',3,'[[drafts]]
key = "k5"
state = "solo"
readings = { "van/2L" = ["p1", 1500] }
','',NULL,'2026-11-25T08:51:43.684+00:00');
CREATE TABLE names (
            day INTEGER NOT NULL REFERENCES days (number), kind TEXT NOT NULL, name TEXT NOT NULL,
            number INTEGER NOT NULL, seq INTEGER NOT NULL, PRIMARY KEY (day, kind, name)
        ) STRICT;
INSERT INTO "names" VALUES(1,'instruments','p1',1,0);
INSERT INTO "names" VALUES(1,'instruments','p2',2,0);
INSERT INTO "names" VALUES(1,'vehicles','van',1,0);
INSERT INTO "names" VALUES(1,'cargo','driver',1,0);
INSERT INTO "names" VALUES(1,'states','solo',1,0);
INSERT INTO "names" VALUES(1,'drafts','first',1,0);
INSERT INTO "names" VALUES(1,'drafts','k1',2,1);
INSERT INTO "names" VALUES(1,'cargo','crate',2,2);
INSERT INTO "names" VALUES(1,'states','empty',2,3);
INSERT INTO "names" VALUES(1,'drafts','k5',3,5);
CREATE TABLE photos (
            day INTEGER NOT NULL, kind TEXT NOT NULL, draft TEXT NOT NULL, media_type TEXT NOT NULL,
            data BLOB NOT NULL, device TEXT NOT NULL, received TEXT NOT NULL,
            PRIMARY KEY (day, draft), FOREIGN KEY (day, kind, draft) REFERENCES names (day, kind, name)
        ) STRICT;
INSERT INTO "photos" VALUES(1,'drafts','k1','image/png',X'89504E470D0A1A0A0001','','2026-11-25T08:51:43.713+00:00');
CREATE TABLE secrets (
            name TEXT NOT NULL PRIMARY KEY, value BLOB NOT NULL, created TEXT NOT NULL
        ) STRICT;
INSERT INTO "secrets" VALUES('cookie',X'0001020304050607','2026-11-25T08:51:43.904+00:00');
CREATE TABLE shelves (
            shelf TEXT NOT NULL, name TEXT NOT NULL, version INTEGER NOT NULL, text TEXT NOT NULL,
            learned TEXT NOT NULL, device TEXT NOT NULL, saved TEXT NOT NULL,
            PRIMARY KEY (shelf, name, version)
        ) STRICT;
INSERT INTO "shelves" VALUES('vehicle','van',1,'[vehicles.van]
role = "towing"
','{"ride_rate":[6800.0,680.0]}','tablet','2026-11-25T08:51:43.745+00:00');
INSERT INTO "shelves" VALUES('vehicle','van',2,'[vehicles.van]
role = "towing"
name = "Van"
','{}','','2026-11-25T08:51:43.772+00:00');
INSERT INTO "shelves" VALUES('instrument','p1',1,'[instruments.p1]
kind = "pad"
','{}','','2026-11-25T08:51:43.788+00:00');
INSERT INTO "shelves" VALUES('teaching','dock box',1,'{"unit":"kg"}','{}','','2026-11-25T08:51:43.812+00:00');
CREATE TABLE store_migrations (
        number INTEGER NOT NULL PRIMARY KEY, name TEXT NOT NULL, applied TEXT NOT NULL, program TEXT NOT NULL
    ) STRICT;
INSERT INTO "store_migrations" VALUES(1,'days','2026-11-25T08:51:43.463+00:00','0.1.0');
INSERT INTO "store_migrations" VALUES(2,'photos','2026-11-25T08:51:43.481+00:00','0.1.0');
INSERT INTO "store_migrations" VALUES(3,'shelves','2026-11-25T08:51:43.502+00:00','0.1.0');
INSERT INTO "store_migrations" VALUES(4,'access','2026-11-25T08:51:43.525+00:00','0.1.0');
CREATE INDEX names_kind_name_day ON names (kind, name, day);
COMMIT;
