-- Swings and reports.

-- part: swing_columns
s.id, s.student_id, s.uploaded_by, s.lesson_id, s.recorded_at, s.received_at, s.document_hash,
  coalesce(s.size, s.document_size), s.media_type, coalesce(e.version, 1), coalesce(e.revision, 1),
  e.revised_at, e.revised_by, e.revised_reason, e.void_at, e.void_by, e.void_reason, e.moved_at,
  e.moved_by, e.moved_reason

-- part: from_swing
FROM swing AS s
LEFT JOIN swing_edit AS e ON e.swing_id = s.id

-- part: swing_counts
NOT EXISTS (SELECT 1 FROM swing_edit AS v WHERE v.swing_id = s.id AND v.void_at IS NOT NULL)

-- part: lesson_counts
EXISTS (SELECT 1 FROM swing AS s WHERE s.lesson_id = l.id AND {swing_counts})

-- part: swing_with_document
{swing_columns}, s.reading, iif(s.packed IS NULL, s.document, unpacked(s.packed, s.size))

-- part: report_columns
r.id, r.swing_id, r.lesson_id, r.standard, r.created,
  iif(r.packed IS NULL, r.json, unpacked(r.packed, r.size))

-- name: SWING_INSERT :exec
INSERT INTO swing (
  id, student_id, uploaded_by, lesson_id, recorded_at, received_at, document_hash, document_size,
  document, media_type, reading, size, packed
)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, length(?8), ?8, coalesce(?9, 'application/json'), ?10, ?11, ?12);

-- name: SWING_BY_ID :one
SELECT {swing_columns}, s.reading
{from_swing}
WHERE s.id = ?1;

-- name: SWING_GET_DOCUMENT :one
SELECT {swing_with_document}
{from_swing}
WHERE s.id = ?1;

-- name: SWING_STUDENT :one
SELECT student_id
FROM swing
WHERE id = ?1;

-- name: SWING_LIST :many
-- changed since ?4: received, given to a lesson, scored anew, or changed afterwards
SELECT {swing_columns},
  (
    SELECT '/v1/swings/' || p.swing_id || '/stills/' || p.view || '-' || p.checkpoint
    FROM still AS p
    WHERE p.swing_id = s.id
    ORDER BY p.checkpoint = 'top' DESC, p.view
    LIMIT 1
  )
{from_swing}
WHERE s.student_id = ?1
  AND s.id < ?2
  AND s.recorded_at >= ?5
  AND s.recorded_at < ?6
  AND (
    ?4 = 0
    OR max(
      s.received_at,
      coalesce(e.changed_at, 0),
      (SELECT coalesce(max(created), 0) FROM lesson WHERE id = s.lesson_id),
      (SELECT coalesce(max(created), 0) FROM report WHERE swing_id = s.id)
    ) >= ?4
  )
ORDER BY s.id DESC
LIMIT ?3;

-- name: SWING_REPORT_INSERT :exec
INSERT INTO report (id, swing_id, lesson_id, standard, created, json, size, packed)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8);

-- name: SWING_REPORT_GET :one
SELECT {report_columns}
FROM report AS r
WHERE r.id = ?1;

-- name: SWING_REPORT_SWING :one
SELECT {report_columns}
FROM report AS r
WHERE r.swing_id = ?1
ORDER BY r.number DESC
LIMIT 1;

-- name: SWING_REPORT_BY_STANDARD :one
SELECT {report_columns}
FROM report AS r
WHERE r.swing_id = ?1
  AND r.standard = ?2
ORDER BY r.number DESC
LIMIT 1;

-- name: SWING_REPORT_LESSON :one
SELECT {report_columns}
FROM lesson AS l
CROSS JOIN report AS r ON r.lesson_id = l.id
WHERE l.id = ?1
  AND {lesson_counts}
ORDER BY r.number DESC
LIMIT 1;

-- name: SWING_REPORT_LESSON_BY_STANDARD :one
SELECT {report_columns}
FROM lesson AS l
CROSS JOIN report AS r ON r.lesson_id = l.id
WHERE l.id = ?1
  AND r.standard = ?2
  AND {lesson_counts}
ORDER BY r.number DESC
LIMIT 1;
