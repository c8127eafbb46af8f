-- The club's drills.

-- part: select_drill
SELECT id, name, json, built_in, created, retired, version
FROM drill

-- name: DRILL_INSERT :exec
INSERT INTO drill (id, name, json, built_in, created, retired)
VALUES (?1, ?2, ?3, ?4, ?5, ?6);

-- name: DRILL_ADD_MISSING :exec
INSERT INTO drill (id, name, json, built_in, created, retired)
VALUES (?1, ?2, ?3, ?4, ?5, ?6)
ON CONFLICT (id) DO NOTHING;

-- name: DRILL_BY_ID :one
{select_drill}
WHERE id = ?1;

-- name: DRILL_LIST :many
{select_drill}
WHERE id > ?1
ORDER BY id
LIMIT ?2;

-- name: DRILL_LIST_IN_USE :many
{select_drill}
WHERE id > ?1
  AND retired IS NULL
ORDER BY id
LIMIT ?2;

-- name: DRILL_RENEW :exec
UPDATE drill
SET name = ?2, json = ?3
WHERE id = ?1
  AND built_in = 1
  AND version = 1
  AND (json <> ?3 OR name <> ?2);

-- name: DRILL_UPDATE :exec
UPDATE drill
SET name = ?2, json = ?3, retired = ?4, version = version + 1
WHERE id = ?1
  AND version = ?5;

-- name: DRILL_EXISTS :one
SELECT 1
FROM drill
WHERE id = ?1;
