-- The second copy: entries that came back from the devices that kept them.

-- Each time somebody handed lines of a log over, and what came of it.
CREATE TABLE refill (
    nth     INTEGER NOT NULL PRIMARY KEY,
    trip    TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    crew    TEXT    NOT NULL,
    name    TEXT    NOT NULL,
    device  TEXT    NOT NULL,
    taken   INTEGER NOT NULL,
    repeats INTEGER NOT NULL,
    clashes INTEGER NOT NULL
) STRICT;

CREATE INDEX refill_trip ON refill (trip);

-- Entries that were brought by somebody else than who made them. Their receipt is that of the
-- box which had them first.
CREATE TABLE relayed (
    line   INTEGER NOT NULL PRIMARY KEY,
    refill INTEGER NOT NULL REFERENCES refill (nth)
) STRICT;

-- Receipts of entries that stand, with an earlier reckoned time than those before: the earliest
-- counts.
CREATE TABLE earlier_receipt (
    line        INTEGER NOT NULL,
    recorded_at INTEGER NOT NULL,
    wall_age_ms INTEGER,
    mono_age_ms INTEGER,
    boot        TEXT    NOT NULL,
    uptime_ms   INTEGER NOT NULL,
    refill      INTEGER NOT NULL REFERENCES refill (nth)
) STRICT;

CREATE INDEX earlier_receipt_line ON earlier_receipt (line);

CREATE TRIGGER refill_is_not_changed BEFORE UPDATE ON refill BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER refill_is_not_removed BEFORE DELETE ON refill BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER relayed_is_not_changed BEFORE UPDATE ON relayed BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER relayed_is_not_removed BEFORE DELETE ON relayed BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER earlier_receipt_is_not_changed BEFORE UPDATE ON earlier_receipt BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
CREATE TRIGGER earlier_receipt_is_not_removed BEFORE DELETE ON earlier_receipt BEGIN
    SELECT raise(ABORT, 'the log is only added to');
END;
