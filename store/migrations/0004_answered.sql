-- +goose Up

-- Of the row and the envelope at pos, so that verify finds an answer that was
-- changed; '' for what was answered before there was one.
ALTER TABLE answered ADD COLUMN sum BLOB NOT NULL DEFAULT x'' CHECK (length(sum) IN (0, 32));
