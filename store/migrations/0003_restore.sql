-- +goose Up

-- The present is made again from the log when the register is opened next: what
-- is known of a sling has grown.
DELETE FROM word;
DELETE FROM tag;
DELETE FROM sling;
DELETE FROM person;
DELETE FROM crib;
DELETE FROM tally;

-- In which log tag, plate and record were last held against each other; '' for a
-- sling that is gone, where nothing can be.
ALTER TABLE sling ADD COLUMN compared TEXT NOT NULL DEFAULT '';
CREATE INDEX sling_compared ON sling (compared, ident, id);
