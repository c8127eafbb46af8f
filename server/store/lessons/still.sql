-- Stills.

-- part: still_columns
id, swing_id, view, checkpoint, media_type, width, height, put_by, created, picture_hash,
  picture_size

-- part: of_one_still
WHERE swing_id = ?1
  AND view = ?2
  AND checkpoint = ?3

-- name: STILL_PUT :exec
INSERT INTO still ({still_columns}, picture)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)
ON CONFLICT (swing_id, view, checkpoint) DO UPDATE SET id = excluded.id,
  media_type = excluded.media_type, width = excluded.width, height = excluded.height,
  put_by = excluded.put_by, created = excluded.created, picture_hash = excluded.picture_hash,
  picture_size = excluded.picture_size, picture = excluded.picture;

-- name: STILL_GET :one
SELECT {still_columns}
FROM still
{of_one_still};

-- name: STILL_FIND :one
SELECT id
FROM still
{of_one_still};

-- name: STILL_LIST :many
SELECT {still_columns}
FROM still
WHERE swing_id = ?1
ORDER BY view, checkpoint
LIMIT ?2;

-- name: STILL_REMOVE :exec
DELETE FROM still
WHERE id = ?1;
