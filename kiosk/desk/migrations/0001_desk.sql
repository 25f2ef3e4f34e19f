-- +goose Up

-- One PIN a person, by the person's id in the register.
CREATE TABLE credential (
	person    TEXT    NOT NULL PRIMARY KEY,
	hash      TEXT    NOT NULL,           -- argon2id, in its usual text form
	one_time  INTEGER NOT NULL,           -- 1: to be changed at the next sign-in
	epoch     INTEGER NOT NULL,           -- grows with each PIN set
	failures  INTEGER NOT NULL,           -- wrong PINs in a row
	failed_ms INTEGER NOT NULL            -- when the last of them was, Unix milliseconds
) STRICT, WITHOUT ROWID;

-- Signed-in browsers. The token is stored as its SHA-256 only.
CREATE TABLE session (
	token     TEXT    NOT NULL PRIMARY KEY,
	data      BLOB    NOT NULL,
	expiry_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX session_expiry ON session (expiry_ms);
