-- The same text for SQLite and PostgreSQL. Times are milliseconds since 1970, UTC;
-- 0 stands for no text and for no time, so that every comparison is with a value.

-- +goose Up
CREATE TABLE visits (
	id          TEXT PRIMARY KEY,
	site        TEXT NOT NULL,
	staff       TEXT NOT NULL,
	started     BIGINT NOT NULL,
	finished    SMALLINT NOT NULL,
	condition   TEXT NOT NULL,
	state       SMALLINT NOT NULL, -- review.State
	level       SMALLINT NOT NULL, -- how much it asks for eyes: 0 not at all, 3 first
	due         BIGINT NOT NULL,   -- of the first action that is open
	head        TEXT NOT NULL,     -- the last hash of the journal
	reviews     INTEGER NOT NULL,
	last_review TEXT NOT NULL,     -- the last hash of the reviews
	handed_in   BIGINT NOT NULL,
	digest      TEXT NOT NULL      -- JSON
);

-- Each list is made of runs of these (see runs.go). What stands behind id is
-- there so that a filter need not look into the table. Few visits have an action
-- that is open, since a later visit to the site takes them over.
CREATE INDEX visits_started ON visits (started, id);
CREATE INDEX visits_site ON visits (site, started, id, condition, state, level, due);
CREATE INDEX visits_staff ON visits (staff, started, id, condition, state, level, due);
CREATE INDEX visits_state ON visits (state, level, started, id);
CREATE INDEX visits_condition ON visits (condition, state, level, started, id);
CREATE INDEX visits_open ON visits (started, id, due, condition, state, level) WHERE due > 0;
CREATE INDEX visits_open_urgent ON visits (level, started, id, due, condition, state) WHERE due > 0;
CREATE INDEX visits_open_due ON visits (due, id, started, condition, state, level) WHERE due > 0;

-- A journal is kept whole, as zstd (RFC 8878) of its bytes.
CREATE TABLE journals (
	id      TEXT PRIMARY KEY REFERENCES visits (id),
	journal BYTEA NOT NULL
);

CREATE TABLE reviews (
	visit    TEXT NOT NULL REFERENCES visits (id),
	place    INTEGER NOT NULL, -- from 1
	line     BYTEA NOT NULL,
	recorded BIGINT NOT NULL,  -- when the ledger had it: a witness
	PRIMARY KEY (visit, place)
);

-- Each site once. Its row is what hand-ins of the same site wait for.
CREATE TABLE sites (
	site   TEXT PRIMARY KEY,
	latest BIGINT NOT NULL -- start of its latest visit that was finished
);

CREATE TABLE staff (
	staff TEXT PRIMARY KEY
);

-- What was handed in and did not verify.
CREATE TABLE aside (
	hash   TEXT PRIMARY KEY, -- SHA-256 of the bytes
	name   TEXT NOT NULL,    -- of the file
	reason TEXT NOT NULL,
	waits  TEXT NOT NULL,    -- for the visit of this id, '' for none
	at     BIGINT NOT NULL,
	size   BIGINT NOT NULL,
	bytes  BYTEA NOT NULL    -- zstd; empty where the file is too large for a visit
);
CREATE INDEX aside_at ON aside (at, hash);
CREATE INDEX aside_waits ON aside (waits) WHERE waits <> '';

-- Decisions that were not let in.
CREATE TABLE refusals (
	hash   TEXT PRIMARY KEY, -- of the review
	visit  TEXT NOT NULL,
	reason TEXT NOT NULL,
	at     BIGINT NOT NULL,
	line   BYTEA NOT NULL
);
CREATE INDEX refusals_at ON refusals (at, hash);

-- Results of practice, as the lines of their file.
CREATE TABLE practice (
	hash TEXT PRIMARY KEY,
	who  TEXT NOT NULL,
	at   BIGINT NOT NULL,
	line TEXT NOT NULL
);
CREATE INDEX practice_at ON practice (at, hash);
CREATE INDEX practice_who ON practice (who, at, hash);
