-- +goose Up

-- The present is made again from the log when the register is opened next: what
-- is known of a tag has grown.
DELETE FROM word;
DELETE FROM tag;
DELETE FROM sling;
DELETE FROM person;
DELETE FROM crib;
DELETE FROM tally;

-- Which slings are to get a new tag, and the stock that the last one was on.
ALTER TABLE sling ADD COLUMN wants INTEGER NOT NULL DEFAULT 0 CHECK (wants IN (0, 1));
ALTER TABLE sling ADD COLUMN stock TEXT NOT NULL DEFAULT '';
CREATE INDEX sling_wants       ON sling (ident, id) WHERE wants = 1;
CREATE INDEX sling_wants_stock ON sling (stock, ident, id) WHERE wants = 1;

-- Which tags wait to be confirmed, since the day of printing, and which were
-- thrown away, on what day; '' for those that are neither.
ALTER TABLE tag ADD COLUMN ident  TEXT NOT NULL DEFAULT '';
ALTER TABLE tag ADD COLUMN stock  TEXT NOT NULL DEFAULT '';
ALTER TABLE tag ADD COLUMN stands TEXT NOT NULL DEFAULT '';
ALTER TABLE tag ADD COLUMN day    TEXT NOT NULL DEFAULT '';
CREATE INDEX tag_stands ON tag (stands, day, ident, serial) WHERE stands <> '';
CREATE INDEX tag_stock  ON tag (stands, stock, day, ident, serial) WHERE stands <> '';
