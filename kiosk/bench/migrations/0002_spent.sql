-- +goose Up

-- The highest revision of any draft that was dropped: drafts begin after it, so that no
-- revision of a sling is ever used twice.
CREATE TABLE spent (
	only     INTEGER NOT NULL PRIMARY KEY CHECK (only = 1),
	revision INTEGER NOT NULL
) STRICT;
INSERT INTO spent (only, revision) VALUES (1, 0);
