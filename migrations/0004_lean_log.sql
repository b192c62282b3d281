-- A log of fewer pages. A commit is as dear as the pages it touches, so the log lies in the
-- order in which it grows, and what an append leaves besides are one row by the event's id and
-- one by its number of its device.
--
-- The copies keep what a damaged file shows: what its list of trips knew of the end of a log
-- stays on record, entries of a trip in no list get their row.

-- `nth` is the trip's number in this file.
CREATE TABLE listed_trip (
    nth       INTEGER NOT NULL PRIMARY KEY CHECK (nth BETWEEN 1 AND 1073741823),
    id        TEXT    NOT NULL UNIQUE,
    day       TEXT,
    harbour   TEXT,
    boat      TEXT,
    drill     INTEGER NOT NULL DEFAULT 0 CHECK (drill IN (0, 1)),
    opened_at INTEGER,
    closed    INTEGER NOT NULL DEFAULT 0 CHECK (closed IN (0, 1))
) STRICT;

INSERT INTO listed_trip (nth, id, day, harbour, boat, drill, opened_at, closed)
    SELECT row_number() OVER (ORDER BY rowid), id, day, harbour, boat, drill, opened_at, closed
    FROM trip;
INSERT INTO listed_trip (id)
    SELECT DISTINCT trip FROM entry WHERE trip NOT IN (SELECT id FROM trip);

-- `line` is the trip's number times 2^32, and the entry's: entries of a trip lie together, and
-- an append goes to the end.
CREATE TABLE lined_entry (
    line        INTEGER NOT NULL PRIMARY KEY CHECK (line & 4294967295 >= 1),
    trip        INTEGER NOT NULL GENERATED ALWAYS AS (line >> 32) VIRTUAL
                REFERENCES listed_trip (nth),
    entry       INTEGER NOT NULL GENERATED ALWAYS AS (line & 4294967295) VIRTUAL,
    event       TEXT    NOT NULL,
    device      TEXT    NOT NULL,
    device_seq  INTEGER NOT NULL CHECK (device_seq >= 1),
    content     TEXT    NOT NULL,
    hash        BLOB    NOT NULL CHECK (length(hash) = 32),
    chain       BLOB    NOT NULL CHECK (length(chain) = 32),
    recorded_at INTEGER NOT NULL,
    wall_age_ms INTEGER,
    mono_age_ms INTEGER,
    boot        TEXT    NOT NULL,
    uptime_ms   INTEGER NOT NULL
) STRICT;

INSERT INTO lined_entry (line, event, device, device_seq, content, hash, chain, recorded_at,
        wall_age_ms, mono_age_ms, boot, uptime_ms)
    SELECT (nth << 32) + entry, event, device, device_seq, content, hash, chain, recorded_at,
        wall_age_ms, mono_age_ms, boot, uptime_ms
    FROM entry JOIN listed_trip ON id = entry.trip ORDER BY nth, entry;

-- A device gives a number once in a trip. The row also bears witness of the entry: where that
-- is gone, it was cut off.
CREATE TABLE number (
    trip       INTEGER NOT NULL,
    device     TEXT    NOT NULL,
    device_seq INTEGER NOT NULL,
    entry      INTEGER NOT NULL,
    chain      BLOB    NOT NULL CHECK (length(chain) = 32),
    PRIMARY KEY (trip, device, device_seq)
) STRICT, WITHOUT ROWID;

-- The last chain as the list of trips had it, which ought to be the entry's own. For an entry
-- past the end, and for those in no list, it had none, and no chain is all zeros.
INSERT INTO number (trip, device, device_seq, entry, chain)
    SELECT nth, device, device_seq, entry,
        CASE WHEN entry = last_entry THEN trip.chain
             WHEN trip.id IS NULL OR entry > last_entry THEN zeroblob(32)
             ELSE entry.chain END
    FROM entry JOIN listed_trip ON listed_trip.id = entry.trip
    LEFT JOIN trip ON trip.id = entry.trip;

-- Entries that were here and are gone. A log goes on after them.
CREATE TABLE lost (
    trip       INTEGER NOT NULL,
    entry      INTEGER NOT NULL CHECK (entry >= 1),
    device     TEXT,
    device_seq INTEGER,
    chain      BLOB    NOT NULL CHECK (length(chain) = 32),
    PRIMARY KEY (trip, entry)
) STRICT, WITHOUT ROWID;

INSERT INTO lost (trip, entry, chain)
    SELECT nth, last_entry, chain FROM trip JOIN listed_trip ON listed_trip.id = trip.id
    WHERE last_entry > (SELECT coalesce(max(entry), 0) FROM entry WHERE entry.trip = trip.id);

DROP TABLE entry;
DROP TABLE trip;
ALTER TABLE listed_trip RENAME TO trip;
ALTER TABLE lined_entry RENAME TO entry;

CREATE UNIQUE INDEX entry_event ON entry (event);

CREATE TRIGGER entry_takes_number AFTER INSERT ON entry BEGIN
    INSERT INTO number (trip, device, device_seq, entry, chain)
        VALUES (NEW.trip, NEW.device, NEW.device_seq, NEW.entry, NEW.chain);
END;

CREATE TRIGGER entry_is_not_changed BEFORE UPDATE ON entry BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER entry_is_not_removed BEFORE DELETE ON entry BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER number_is_not_changed BEFORE UPDATE ON number BEGIN
    SELECT raise(ABORT, 'a number stays with its entry');
END;
CREATE TRIGGER number_is_not_removed BEFORE DELETE ON number
WHEN EXISTS (SELECT 1 FROM entry WHERE line = (OLD.trip << 32) + OLD.entry) BEGIN
    SELECT raise(ABORT, 'a number stays with its entry');
END;
CREATE TRIGGER clash_is_not_changed BEFORE UPDATE ON clash BEGIN
    SELECT raise(ABORT, 'what was kept aside stays');
END;
CREATE TRIGGER clash_is_not_removed BEFORE DELETE ON clash BEGIN
    SELECT raise(ABORT, 'what was kept aside stays');
END;

-- Trips with where their logs end: at the last entry, or at a later one that is gone. Before
-- the first entry there is no chain.
CREATE VIEW trip_head AS
    SELECT trip.nth, trip.id, day, harbour, boat, drill, opened_at, closed,
        max(coalesce(tail.entry, 0), coalesce(gone.entry, 0)) AS last_entry,
        CASE WHEN gone.entry > coalesce(tail.entry, 0) THEN gone.chain ELSE tail.chain END
            AS last_chain
    FROM trip
    LEFT JOIN entry AS tail ON tail.line = (
        SELECT max(line) FROM entry WHERE line BETWEEN trip.nth << 32 AND (trip.nth << 32) + 4294967295)
    LEFT JOIN lost AS gone ON gone.trip = trip.nth AND gone.entry = (
        SELECT max(entry) FROM lost WHERE lost.trip = trip.nth);

-- From here on a file says which programs can work on it: those that know its format. The
-- programs from before do not ask; they stop at a migration that is said to be half done.
PRAGMA user_version = 1;
INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
    VALUES (1000000000, 'needs a program that knows the format of the file', FALSE, x'', 0);
