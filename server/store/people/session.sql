-- Sessions: looked up on every request by one statement, touched seldom, ended in several ways.

-- name: SESSION_INSERT :exec
INSERT INTO session (
  token_hash, id, account_id, device_id, kind, created, last_seen, expires, idle_ms, revoked,
  confirmed_at
)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11);

-- part: session_identity
SELECT s.id, s.account_id, a.student_id, s.device_id, a.role, s.kind, a.password_temporary,
  s.created, s.last_seen, s.expires, s.confirmed_at
FROM session AS s
CROSS JOIN account AS a ON a.id = s.account_id
LEFT JOIN device AS d ON d.id = s.device_id

-- ?2 = now.
-- part: session_stands
s.revoked IS NULL
  AND s.expires > ?2
  AND s.last_seen + s.idle_ms > ?2
  AND a.disabled IS NULL
  AND d.revoked IS NULL

-- name: SESSION_FIND :one
{session_identity}
WHERE s.token_hash = ?1
  AND {session_stands};

-- name: SESSION_FIND_ID :one
{session_identity}
WHERE s.id = ?1
  AND {session_stands};

-- name: SESSION_STANDING :one
SELECT 1
FROM session
WHERE id = ?1
  AND revoked IS NULL
  AND expires > ?2;

-- name: SESSION_TOUCH :exec
UPDATE session
SET last_seen = max(last_seen, ?2)
WHERE id = ?1;

-- name: SESSION_CONFIRM :exec
UPDATE session
SET confirmed_at = ?2
WHERE id = ?1
  AND revoked IS NULL;

-- name: SESSION_LIST :many
SELECT id, account_id, device_id, kind, created, last_seen, expires, idle_ms, revoked
FROM session
WHERE account_id = ?1
  AND revoked IS NULL
  AND expires > ?2
  AND last_seen + idle_ms > ?2
ORDER BY id DESC
LIMIT ?3;

-- name: SESSION_REVOKE :exec
UPDATE session
SET revoked = coalesce(revoked, ?3)
WHERE id = ?2
  AND account_id = ?1;

-- name: SESSION_REVOKE_ALL :exec
UPDATE session
SET revoked = ?3
WHERE account_id = ?1
  AND id <> ?2
  AND revoked IS NULL;

-- name: SESSION_REVOKE_TOKEN :exec
UPDATE session
SET revoked = ?2
WHERE token_hash = ?1
  AND revoked IS NULL;

-- name: SESSION_REVOKE_DEVICE :exec
UPDATE session
SET revoked = ?2
WHERE device_id = ?1
  AND revoked IS NULL;

-- name: SESSION_PURGE :exec
DELETE FROM session
WHERE token_hash IN (SELECT token_hash FROM session WHERE expires < ?1 LIMIT 500);
