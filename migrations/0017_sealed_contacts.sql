-- Contacts, sealed: each under a key of its own, which the key file of the box wraps. The table
-- `contact` of before stays for older programs and is emptied at the next start: what it held
-- is sealed then.

CREATE TABLE sealed_contact (
    person   TEXT    NOT NULL PRIMARY KEY REFERENCES person (id) ON DELETE CASCADE,
    box_key  BLOB    NOT NULL CHECK (length(box_key) = 8),
    key      BLOB    NOT NULL,
    sealed   BLOB    NOT NULL,
    given_at INTEGER NOT NULL
) STRICT;
