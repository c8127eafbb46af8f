-- Reports in time.

-- part: join_packed
LEFT JOIN report_measures AS m ON m.report = r.number

-- name: PROGRESS_SWINGS :many
SELECT s.id, NULL, s.recorded_at, r.number, m.packed
FROM swing AS s
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
{join_packed}
WHERE s.student_id = ?1
  AND s.lesson_id IS NULL
  AND {swing_counts}
ORDER BY s.id DESC
LIMIT ?2;

-- name: PROGRESS_ALL :many
SELECT s.id, NULL, s.recorded_at, r.number, m.packed
FROM swing AS s
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
{join_packed}
WHERE s.student_id = ?1
  AND {swing_counts}
ORDER BY s.id DESC
LIMIT ?2;

-- name: PROGRESS_LESSONS :many
SELECT NULL, l.id, l.held_at, r.number, m.packed
FROM lesson AS l
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE lesson_id = l.id)
{join_packed}
WHERE l.student_id = ?1
  AND {lesson_counts}
ORDER BY l.id DESC
LIMIT ?2;

-- name: PROGRESS_OF_SWING :one
SELECT s.id, NULL, 0, r.number, m.packed
FROM swing AS s
CROSS JOIN report AS r ON r.swing_id = s.id
{join_packed}
WHERE s.id = ?1
  AND {swing_counts}
ORDER BY r.number DESC
LIMIT 1;

-- name: PROGRESS_OF_LESSON :one
SELECT NULL, r.lesson_id, 0, r.number, m.packed
FROM lesson AS l
CROSS JOIN report AS r ON r.lesson_id = l.id
{join_packed}
WHERE l.id = ?1
  AND {lesson_counts}
ORDER BY r.number DESC
LIMIT 1;

-- name: PROGRESS_REPORT :one
SELECT iif(packed IS NULL, json, unpacked(packed, size))
FROM report
WHERE number = ?1;

-- name: PROGRESS_PUT :exec
INSERT INTO report_measures (report, packed)
VALUES (?1, ?2)
ON CONFLICT (report) DO UPDATE SET packed = excluded.packed;
