-- Swings and reports.

-- part: swing_columns
s.id, s.student_id, s.uploaded_by, s.lesson_id, s.recorded_at, s.received_at, s.document_hash,
  coalesce(s.size, s.document_size), s.media_type

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
FROM swing AS s
WHERE s.id = ?1;

-- name: SWING_GET_DOCUMENT :one
SELECT {swing_with_document}
FROM swing AS s
WHERE s.id = ?1;

-- name: SWING_STUDENT :one
SELECT student_id
FROM swing
WHERE id = ?1;

-- name: SWING_LIST :many
-- changed since ?4: received, given to a lesson, or scored anew
SELECT {swing_columns}
FROM swing AS s
WHERE s.student_id = ?1
  AND s.id < ?2
  AND s.recorded_at >= ?5
  AND s.recorded_at < ?6
  AND (
    ?4 = 0
    OR max(
      s.received_at,
      (SELECT coalesce(max(created), 0) FROM lesson WHERE id = s.lesson_id),
      (SELECT coalesce(max(created), 0) FROM report WHERE swing_id = s.id)
    ) >= ?4
  )
ORDER BY s.id DESC
LIMIT ?3;

-- name: SWING_LIST_ALL :many
SELECT {swing_with_document}
FROM swing AS s
WHERE s.id > ?1
ORDER BY s.id
LIMIT ?2;

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

-- name: SWING_REPORT_LESSON :one
SELECT {report_columns}
FROM report AS r
WHERE r.lesson_id = ?1
ORDER BY r.number DESC
LIMIT 1;

-- name: SWING_REPORT_LIST :many
SELECT {report_columns}
FROM swing AS s
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
WHERE s.student_id = ?1
  AND s.id < ?2
ORDER BY s.id DESC
LIMIT ?3;
