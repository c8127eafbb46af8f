-- Range tablets.

-- part: select_device
SELECT id, name, enrolled_by, created, last_seen, revoked, version
FROM device

-- name: DEVICE_INSERT :exec
INSERT INTO device (id, name, token_hash, enrolled_by, created, last_seen, revoked)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7);

-- name: DEVICE_FIND :one
{select_device}
WHERE token_hash = ?1
  AND revoked IS NULL;

-- name: DEVICE_BY_ID :one
{select_device}
WHERE id = ?1;

-- name: DEVICE_LIST :many
{select_device}
WHERE id > ?1
ORDER BY id
LIMIT ?2;

-- name: DEVICE_UPDATE :exec
UPDATE device
SET name = ?2, revoked = coalesce(revoked, ?3), version = version + 1
WHERE id = ?1
  AND version = ?4;

-- name: DEVICE_EXISTS :one
SELECT 1
FROM device
WHERE id = ?1;

-- name: DEVICE_REVOKE :exec
UPDATE device
SET revoked = coalesce(revoked, ?2), version = version + 1
WHERE id = ?1;

-- name: DEVICE_ENROLLED_BY :many
SELECT id
FROM device
WHERE enrolled_by = ?1
  AND revoked IS NULL
ORDER BY id
LIMIT ?2;

-- name: DEVICE_TOUCH :exec
UPDATE device
SET last_seen = max(last_seen, ?2)
WHERE id = ?1;
