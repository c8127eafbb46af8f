-- Stills.

-- part: still_columns
id, swing_id, view, checkpoint, media_type, width, height, put_by, created, picture_hash,
  picture_size

-- part: of_one_still
WHERE swing_id = ?1
  AND view = ?2
  AND checkpoint = ?3

-- The address of a picture of the student's newest swings, at the top where there is one; of one that was set aside none.
-- part: last_still
(
  SELECT '/v1/swings/' || p.swing_id || '/stills/' || p.view || '-' || p.checkpoint
  FROM still AS p
  WHERE p.swing_id IN (SELECT id FROM swing WHERE student_id = s.id ORDER BY id DESC LIMIT 8)
    AND NOT EXISTS (SELECT 1 FROM swing_edit AS v WHERE v.swing_id = p.swing_id AND v.void_at IS NOT NULL)
    AND {may_keep_pictures}
  ORDER BY p.swing_id DESC, p.checkpoint = 'top' DESC, p.view
  LIMIT 1
)

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
