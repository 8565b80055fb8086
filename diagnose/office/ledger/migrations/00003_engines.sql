-- Since when an engine looks at visits again: one that came earlier does not look at
-- what a later one has seen, or two desks of different builds would never end.

-- +goose Up
CREATE TABLE engines (engine TEXT NOT NULL PRIMARY KEY, since BIGINT NOT NULL);
INSERT INTO engines (engine, since) SELECT DISTINCT engine, 0 FROM visits WHERE engine <> '';
