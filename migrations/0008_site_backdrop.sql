-- The picture under the chart of a site, with the two points that place it as a JSON document,
-- once they are known. The picture itself stands last, so that the others are read without it.
CREATE TABLE site_backdrop (
    site      TEXT    NOT NULL PRIMARY KEY REFERENCES site (id) ON DELETE CASCADE,
    hash      BLOB    NOT NULL CHECK (length(hash) = 32),
    kind      TEXT    NOT NULL CHECK (kind IN ('png', 'jpeg', 'webp')),
    width_px  INTEGER NOT NULL CHECK (width_px > 0),
    height_px INTEGER NOT NULL CHECK (height_px > 0),
    ties      TEXT,
    bytes     BLOB    NOT NULL
) STRICT;
