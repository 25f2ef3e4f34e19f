-- +goose Up

-- The present is made again from the log when the register is opened next: what
-- is known of a sling, and of the crib, has grown.
DELETE FROM word;
DELETE FROM tag;
DELETE FROM sling;
DELETE FROM person;
DELETE FROM crib;
DELETE FROM tally;

-- Who has still to say what happened to a sling; since which day it is that one lay
-- here while the record had it out; in which count it was seen last, and at which
-- place, spelt like place. Each is '' where it is not so.
ALTER TABLE sling ADD COLUMN owes    TEXT NOT NULL DEFAULT '';
ALTER TABLE sling ADD COLUMN doubled TEXT NOT NULL DEFAULT '';
ALTER TABLE sling ADD COLUMN seen    TEXT NOT NULL DEFAULT '';
ALTER TABLE sling ADD COLUMN seen_at TEXT NOT NULL DEFAULT '';
CREATE INDEX sling_owes    ON sling (owes, ident, id) WHERE owes <> '';
CREATE INDEX sling_doubled ON sling (ident, id) WHERE doubled <> '';
CREATE INDEX sling_seen    ON sling (seen, ident, id) WHERE seen <> '';
CREATE INDEX sling_seen_at ON sling (seen, seen_at, ident, id) WHERE seen <> '';

-- What was handed out within a loan, by the position of the event that says so;
-- part of the present.
CREATE TABLE drawn (
	pos    INTEGER PRIMARY KEY,
	loan   TEXT    NOT NULL,
	sling  TEXT    NOT NULL,
	rigger TEXT    NOT NULL,
	stated INTEGER NOT NULL CHECK (stated IN (0, 1)) -- 0: gear for a shift, without a stated lift
) STRICT;
CREATE INDEX drawn_loan   ON drawn (loan, pos);
CREATE INDEX drawn_rigger ON drawn (rigger, pos);
CREATE INDEX drawn_shift  ON drawn (pos) WHERE stated = 0;
