-- How long the server has been running in all.

-- name: RUNNING_GET :one
SELECT ms
FROM running
WHERE id = 1;

-- name: RUNNING_SAVE :exec
UPDATE running
SET ms = max(ms, ?1)
WHERE id = 1;
