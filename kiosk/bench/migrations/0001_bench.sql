-- +goose Up

-- An inspection that is not signed yet, by the sling's id in the register.
CREATE TABLE draft (
	sling    TEXT    NOT NULL PRIMARY KEY,
	revision INTEGER NOT NULL,            -- grows with each change
	who      TEXT    NOT NULL,            -- the person's id in the register; empty for nobody
	aside    INTEGER NOT NULL,            -- 1: laid aside, for whoever takes it up
	begun_ms INTEGER NOT NULL,            -- Unix milliseconds
	saved_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- What was typed, field by field.
CREATE TABLE field (
	sling TEXT NOT NULL REFERENCES draft (sling) ON DELETE CASCADE,
	name  TEXT NOT NULL,
	value TEXT NOT NULL,
	PRIMARY KEY (sling, name)
) STRICT, WITHOUT ROWID;
