-- What a backup was proven to hold when it was made; in the file of a box, that of the backup
-- it was restored from. For each trip the hash of its events and of the state they fold to; the
-- row without a trip stands for all of them.

CREATE TABLE proof (
    trip    TEXT    NOT NULL PRIMARY KEY,
    entry   INTEGER NOT NULL CHECK (entry >= 0),
    events  BLOB    NOT NULL CHECK (length(events) = 32),
    state   BLOB    NOT NULL CHECK (length(state) = 32),
    program TEXT    NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;
