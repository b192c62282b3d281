-- Owners answer for accounts, audit and records; the desk did so until now and keeps it. Roles may
-- also be 'owner', and 'display' alone for a screen that only shows. Ashore an account can have a
-- passphrase besides its PIN.
UPDATE crew SET roles = 'owner ' || roles WHERE active = 1 AND ' ' || roles || ' ' LIKE '% desk %';

ALTER TABLE crew ADD COLUMN passphrase TEXT;
