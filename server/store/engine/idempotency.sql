-- Kept answers.

-- name: IDEMPOTENCY_FIND :one
SELECT principal, key, route, body_hash, status, response, object_kind, object_id, student_id,
  created
FROM idempotency
WHERE principal = ?1
  AND key = ?2;

-- name: IDEMPOTENCY_INSERT :exec
INSERT INTO idempotency (
  principal, key, route, body_hash, status, response, object_kind, object_id, student_id, created,
  ran
)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11);

-- name: IDEMPOTENCY_PURGE :exec
DELETE FROM idempotency
WHERE rowid IN (SELECT rowid FROM idempotency WHERE ran < ?2 AND created < ?1 LIMIT 500);
