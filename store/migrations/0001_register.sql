-- +goose Up

-- The log. Rows are added at the end and never touched again.
CREATE TABLE log (
	pos      INTEGER PRIMARY KEY CHECK (pos > 0),
	hash     BLOB NOT NULL CHECK (length(hash) = 32), -- SHA-256 of envelope
	subject  TEXT NOT NULL,                           -- as the envelope says
	envelope BLOB NOT NULL
) STRICT;
CREATE INDEX log_subject ON log (subject, pos);

-- Bodies lie apart: the envelope holds only their commitment.
CREATE TABLE body (
	pos  INTEGER PRIMARY KEY REFERENCES log (pos),
	salt BLOB NOT NULL CHECK (length(salt) = 16),
	body BLOB NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER log_next BEFORE INSERT ON log
WHEN new.pos <> coalesce((SELECT max(pos) FROM log), 0) + 1
BEGIN SELECT raise(ABORT, 'the log has no gaps and nothing is written over'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_update BEFORE UPDATE ON log
BEGIN SELECT raise(ABORT, 'the log is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_delete BEFORE DELETE ON log
BEGIN SELECT raise(ABORT, 'the log is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER body_once BEFORE INSERT ON body
WHEN EXISTS (SELECT 1 FROM body WHERE pos = new.pos)
BEGIN SELECT raise(ABORT, 'a body is never written over'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER body_update BEFORE UPDATE ON body
BEGIN SELECT raise(ABORT, 'a body is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER body_delete BEFORE DELETE ON body
BEGIN SELECT raise(ABORT, 'a body is never changed'); END;
-- +goose StatementEnd

-- What was answered under an idempotency key.
CREATE TABLE answered (
	key     TEXT PRIMARY KEY,
	request BLOB NOT NULL, -- digest that the key is bound to
	answer  BLOB NOT NULL,
	pos     INTEGER NOT NULL -- head of the log when it was answered
) STRICT;

-- The present. Everything below follows from the log and can be made again.
-- state is the whole of what is known, in the one spelling of core/state; the
-- other columns are what is searched by.
CREATE TABLE crib (
	n     INTEGER PRIMARY KEY CHECK (n = 1),
	state BLOB NOT NULL
) STRICT;

CREATE TABLE person (
	n     INTEGER PRIMARY KEY,
	id    TEXT NOT NULL UNIQUE,
	name  TEXT NOT NULL,
	state BLOB NOT NULL
) STRICT;
CREATE INDEX person_name ON person (name, id);

CREATE TABLE sling (
	n         INTEGER PRIMARY KEY,
	id        TEXT NOT NULL UNIQUE,
	ident     TEXT NOT NULL,    -- the owner's identification; '' before it is registered
	number    INTEGER NOT NULL, -- the 64 bits of its number
	place     TEXT NOT NULL,    -- its rack place, spelt so that it sorts as one walks
	stands    TEXT NOT NULL,    -- in, out, held, …
	due       TEXT NOT NULL,    -- YYYY-MM-DD; '' where none is set
	inspected TEXT NOT NULL,    -- YYYY-MM-DD; '' where it never was
	holder    TEXT NOT NULL,    -- who has it out; '' where nobody
	state     BLOB NOT NULL
) STRICT;
CREATE INDEX sling_ident     ON sling (ident, id);
CREATE INDEX sling_stands    ON sling (stands, ident, id);
CREATE INDEX sling_place     ON sling (stands, place, ident, id);
CREATE INDEX sling_due       ON sling (stands, due);
CREATE INDEX sling_inspected ON sling (stands, inspected, due);
CREATE INDEX sling_number    ON sling (number);
CREATE INDEX sling_holder    ON sling (holder, ident, id) WHERE holder <> '';

-- Every tag printed, by the digest of its text and by its short code.
CREATE TABLE tag (
	digest BLOB    NOT NULL,
	sling  INTEGER NOT NULL REFERENCES sling (n),
	serial INTEGER NOT NULL,
	part   INTEGER NOT NULL, -- of the number, as in the short code
	number INTEGER NOT NULL, -- the sling's number under the tag's own key
	PRIMARY KEY (digest, sling, serial)
) STRICT, WITHOUT ROWID;
CREATE INDEX tag_short  ON tag (part, serial);
CREATE INDEX tag_number ON tag (number);
CREATE INDEX tag_sling  ON tag (sling, digest, serial);

-- Words that a sling is searched by: its rack place and size.
CREATE TABLE word (
	word  TEXT    NOT NULL,
	ident TEXT    NOT NULL,
	id    TEXT    NOT NULL,
	sling INTEGER NOT NULL REFERENCES sling (n),
	PRIMARY KEY (word, ident, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX word_sling ON word (sling);

-- How many slings are in each state; kept by the triggers.
CREATE TABLE tally (
	stands TEXT PRIMARY KEY,
	n      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- +goose StatementBegin
CREATE TRIGGER tally_insert AFTER INSERT ON sling
BEGIN
	INSERT INTO tally (stands, n) VALUES (new.stands, 1) ON CONFLICT (stands) DO UPDATE SET n = n + 1;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tally_update AFTER UPDATE OF stands ON sling WHEN old.stands <> new.stands
BEGIN
	UPDATE tally SET n = n - 1 WHERE stands = old.stands;
	INSERT INTO tally (stands, n) VALUES (new.stands, 1) ON CONFLICT (stands) DO UPDATE SET n = n + 1;
END;
-- +goose StatementEnd
