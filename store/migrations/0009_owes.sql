-- +goose Up

-- The present is made again from the log when the register is opened next: what
-- is known of a sling has grown.
DELETE FROM planned;
DELETE FROM drawn;
DELETE FROM word;
DELETE FROM tag;
DELETE FROM sling;
DELETE FROM person;
DELETE FROM crib;
DELETE FROM tally;

-- Several riggers may have to say what happened to one sling; the column has all of
-- them, with spaces between. They are few, and looked through.
DROP INDEX sling_owes;
CREATE INDEX sling_owes ON sling (ident, id) WHERE owes <> '';
