-- +goose Up

-- The present is made again from the log when the register is opened next: what
-- is known of a sling has grown, and lifts are planned.
DELETE FROM drawn;
DELETE FROM word;
DELETE FROM tag;
DELETE FROM sling;
DELETE FROM person;
DELETE FROM crib;
DELETE FROM tally;

-- For which day a sling is set aside, and for which lift, with a space between. ''
-- for one that is not.
ALTER TABLE sling ADD COLUMN aside TEXT NOT NULL DEFAULT '';
CREATE INDEX sling_aside ON sling (aside, ident, id) WHERE aside <> '';

-- What was said of a lift that is planned, by the position of the event that says so;
-- part of the present.
CREATE TABLE planned (
	pos    INTEGER PRIMARY KEY,
	lift   TEXT NOT NULL,
	day    TEXT NOT NULL,
	rigger TEXT NOT NULL
) STRICT;
CREATE INDEX planned_day    ON planned (day, pos);
CREATE INDEX planned_rigger ON planned (rigger, day, pos);
CREATE INDEX planned_lift   ON planned (lift, pos);
