-- What the box's clock was tied to and how its wall clock was set: what a receipt's time rests on.
-- The wall clock at a receipt is its time and the steps of its boot up to there.
CREATE TABLE clock_note (
    id             INTEGER NOT NULL PRIMARY KEY,
    kind           TEXT    NOT NULL CHECK (kind IN ('start', 'step', 'tie')),
    at             INTEGER NOT NULL,
    wall           INTEGER NOT NULL,
    boot           TEXT    NOT NULL,
    uptime_ms      INTEGER NOT NULL,
    source         TEXT    NOT NULL CHECK (source IN ('wall', 'same-boot', 'last-entry', 'watch', 'devices', 'confirmed')),
    uncertainty_ms INTEGER,
    confirmed      INTEGER NOT NULL CHECK (confirmed IN (0, 1)),
    who            TEXT,
    who_name       TEXT,
    device         TEXT
) STRICT;

CREATE INDEX clock_note_boot ON clock_note (boot, id);
