-- What the engine of a later day made of a visit's answers.

-- +goose Up
ALTER TABLE visits ADD COLUMN engine TEXT NOT NULL DEFAULT '';    -- that looked at it again, '' for none
ALTER TABLE visits ADD COLUMN differs SMALLINT NOT NULL DEFAULT 0; -- 1 where it saw something else
ALTER TABLE visits ADD COLUMN again TEXT NOT NULL DEFAULT '';      -- JSON, what it saw

-- What level says while nobody has decided; a visit that was decided on (states 3 and
-- 4) asks for no eyes until it goes on.
ALTER TABLE visits ADD COLUMN asks SMALLINT NOT NULL DEFAULT 0;
UPDATE visits SET asks = level, level = CASE WHEN state > 2 THEN 0 ELSE level END WHERE level > 0;

-- What is overdue is told from the index, without a look into the table.
DROP INDEX visits_state;
DROP INDEX visits_condition;
CREATE INDEX visits_state ON visits (state, level, started, id, due);
CREATE INDEX visits_condition ON visits (condition, state, level, started, id, due);

-- Few differ, and an index of their own has them in the order of each list.
CREATE INDEX visits_differ ON visits (started, id, due, condition, state, level) WHERE differs = 1;
CREATE INDEX visits_differ_urgent ON visits (level, started, id, due, condition, state) WHERE differs = 1;
CREATE INDEX visits_differ_due ON visits (due, id, started, condition, state, level) WHERE differs = 1;

-- Those that nobody decided on yet (state 2, handed in) are the ones to look at.
CREATE INDEX visits_undecided ON visits (started, id, engine) WHERE state = 2;
