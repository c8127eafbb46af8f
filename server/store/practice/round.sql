-- Rounds on the course.

-- name: ROUND_INSERT :exec
INSERT INTO round (id, student_id, made_by, played_at, created, holes, count, shots)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8);

-- name: ROUND_BY_ID :one
SELECT id, student_id, made_by, played_at, created, holes, count, shots
FROM round
WHERE id = ?1;

-- name: ROUND_LIST :many
SELECT id, student_id, made_by, played_at, created, holes, count, shots
FROM round
WHERE student_id = ?1
  AND id < ?2
ORDER BY id DESC
LIMIT ?3;

-- name: ROUND_REMOVE :exec
DELETE FROM round
WHERE id = ?1;

-- name: ROUND_FORGET :exec
-- the answer that was kept for it
DELETE FROM idempotency
WHERE principal = ?1
  AND object_kind = 'round'
  AND object_id = ?2;
