-- +goose Up

-- The present is made again from the log when the register is opened next: what
-- is known of a sling, and of the crib, has grown.
DELETE FROM word;
DELETE FROM tag;
DELETE FROM sling;
DELETE FROM person;
DELETE FROM crib;
DELETE FROM tally;

-- Where a sling stands in the queue of the bench: the gravest first, then what is
-- due first. '' for one that is not here.
ALTER TABLE sling ADD COLUMN bench TEXT NOT NULL DEFAULT '';
CREATE INDEX sling_bench ON sling (bench, ident, id) WHERE bench <> '';
