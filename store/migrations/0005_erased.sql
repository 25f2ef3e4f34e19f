-- +goose Up

-- Bodies that were taken out of the register because of what they said of a
-- person: what is left of each, and the position of the event that tells so.
CREATE TABLE erased (
	pos   INTEGER PRIMARY KEY REFERENCES log (pos),
	told  INTEGER NOT NULL CHECK (told > pos), -- no reference: SQLite would walk this table for every row of the log
	rest  BLOB    NOT NULL,
	swept INTEGER NOT NULL DEFAULT 0 CHECK (swept IN (0, 1)) -- 1: the file was written anew since
) STRICT;
CREATE INDEX erased_unswept ON erased (pos) WHERE swept = 0;

DROP TRIGGER body_delete;

-- +goose StatementBegin
CREATE TRIGGER body_delete BEFORE DELETE ON body
WHEN NOT EXISTS (SELECT 1 FROM erased WHERE pos = old.pos)
BEGIN SELECT raise(ABORT, 'a body is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER body_erased BEFORE INSERT ON body
WHEN EXISTS (SELECT 1 FROM erased WHERE pos = new.pos)
BEGIN SELECT raise(ABORT, 'a body that was erased does not come back'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER erased_update BEFORE UPDATE ON erased
WHEN new.pos <> old.pos OR new.told <> old.told OR new.swept < old.swept
	OR new.rest <> old.rest AND EXISTS (SELECT 1 FROM body WHERE pos = old.told) -- another name is cut out, there as well
BEGIN SELECT raise(ABORT, 'what was erased is never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER erased_delete BEFORE DELETE ON erased
BEGIN SELECT raise(ABORT, 'what was erased is never changed'); END;
-- +goose StatementEnd
