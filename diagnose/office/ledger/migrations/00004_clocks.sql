-- A visit that is dated more than a day after it was handed in had a wrong clock: it is
-- not the latest of its site, or no later visit there would leave open work any more.

-- +goose Up
UPDATE sites SET latest = COALESCE((SELECT MAX(v.started) FROM visits v WHERE v.site = sites.site AND v.finished = 1 AND v.started <= v.handed_in + 86400000), 0);
