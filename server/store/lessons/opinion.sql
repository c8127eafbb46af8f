-- Second opinions on swings.

-- name: OPINION_OF_SWING :many
SELECT id, account_id, created, changed_at, version, json, later
FROM look
WHERE swing_id = ?1
ORDER BY id
LIMIT ?2;

-- name: OPINION_BETWEEN :many
-- what was said first, of swings that count; the newest
SELECT l.swing_id, s.student_id, l.account_id, l.json
FROM look AS l
CROSS JOIN swing AS s ON s.id = l.swing_id
WHERE l.created >= ?1
  AND l.created < ?2
  AND {swing_counts}
ORDER BY l.created DESC
LIMIT ?3;

-- name: OPINION_INSERT :exec
INSERT INTO look (id, swing_id, account_id, created, json)
VALUES (?1, ?2, ?3, ?4, ?5);

-- name: OPINION_UPDATE :exec
UPDATE look
SET later = ?4, changed_at = ?5, version = version + 1
WHERE swing_id = ?1
  AND account_id = ?2
  AND version = ?3;
