-- Students handed over from one coach to another.

-- part: select_handover
SELECT h.id, h.student_id, h.from_id, h.to_id, h.note, h.stays, h.created, h.status, h.answered_by,
  h.answered_at, h.reason, h.version, s.name, f.name, t.name, coalesce(h.offered_by, h.from_id)
FROM handover AS h
CROSS JOIN student AS s ON s.id = h.student_id
LEFT JOIN account AS f ON f.id = h.from_id
LEFT JOIN account AS t ON t.id = h.to_id

-- name: HANDOVER_INSERT :exec
INSERT INTO handover (
  id, student_id, from_id, to_id, note, stays, created, status, answered_by, answered_at, reason,
  offered_by
)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, nullif(?12, ?3));

-- name: HANDOVER_BY_ID :one
{select_handover}
WHERE h.id = ?1;

-- name: HANDOVER_LIST :many
{select_handover}
WHERE h.student_id = ?1
  AND h.id < ?2
ORDER BY h.id DESC
LIMIT ?3;

-- name: HANDOVER_OFFERED :many
{select_handover}
WHERE h.to_id = ?1
  AND h.status = 'offered'
ORDER BY h.student_id
LIMIT ?2;

-- name: HANDOVER_ANSWER :exec
UPDATE handover
SET status = ?2, answered_by = ?3, answered_at = ?4, reason = ?5, version = version + 1
WHERE id = ?1
  AND version = ?6
  AND status = 'offered';

-- name: HANDOVER_EXISTS :one
SELECT 1
FROM handover
WHERE id = ?1;
