-- The ledger in the club's file, and what a start makes of the two.

-- name: LEDGER_ADD :exec
INSERT INTO ended (kind, object_id, at)
VALUES (?1, ?2, ?3)
ON CONFLICT (kind, object_id) DO NOTHING;

-- name: LEDGER_FIND :one
SELECT 1
FROM ended
WHERE kind = ?1
  AND object_id = ?2;

-- name: LEDGER_LIST :many
-- whole: a start compares all of it with the file beside
SELECT kind, object_id, at
FROM ended;

-- name: LEDGER_STATE :one
SELECT mark, copied
FROM ledger
WHERE id = 1;

-- name: LEDGER_MARK_COPY :exec
UPDATE ledger
SET copied = 1
WHERE id = 1;

-- name: LEDGER_SET_STATE :exec
UPDATE ledger
SET mark = ?1, copied = 0
WHERE id = 1;

-- name: LEDGER_END_SESSIONS :exec
-- whole: a restored file's all end
UPDATE session
SET revoked = ?1
WHERE revoked IS NULL;

-- these two one after the other
-- name: LEDGER_END_INVITATIONS :exec
-- whole: a restored file's all end
DELETE FROM account_link;

-- name: LEDGER_END_FEEDS :exec
-- whole: a restored file's all end
DELETE FROM calendar;
