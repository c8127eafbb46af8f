-- Lessons and the swings that belong to them.

-- part: select_lesson
SELECT l.id, l.student_id, l.coach, l.held_at, l.created, l.note, l.version,
  (SELECT count(*) FROM swing AS s WHERE s.lesson_id = l.id AND {swing_counts})
FROM lesson AS l

-- name: LESSON_INSERT :exec
INSERT INTO lesson (id, student_id, coach, held_at, created, note)
VALUES (?1, ?2, ?3, ?4, ?5, ?6);

-- name: LESSON_ATTACH :exec
UPDATE swing
SET lesson_id = ?1
WHERE id = ?2;

-- name: LESSON_ATTACHABLE :one
SELECT s.lesson_id IS NULL
  OR s.lesson_id = ?1
FROM swing AS s
CROSS JOIN lesson AS l ON l.id = ?1
WHERE s.id = ?2
  AND s.student_id = l.student_id;

-- name: LESSON_BY_ID :one
{select_lesson}
WHERE l.id = ?1;

-- name: LESSON_LIST :many
{select_lesson}
WHERE l.student_id = ?1
  AND l.id < ?2
  AND l.held_at >= ?4
  AND l.held_at < ?5
ORDER BY l.id DESC
LIMIT ?3;
