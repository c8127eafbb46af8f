-- Work in the background by the standard, and the swings and lessons that it goes through.

-- name: STANDARD_JOB_DROP :exec
DELETE FROM standard_job
WHERE id > ''
  AND state <> 'running';

-- name: STANDARD_JOB_START :exec
INSERT INTO standard_job (
  id, kind, state, started_by, started, standard, tried, label, swing_place, lesson_place
)
VALUES (?1, ?2, 'running', ?3, ?4, ?5, ?6, ?7, ?8, ?9);

-- name: STANDARD_JOB_GET :one
SELECT id, kind, state, started_by, started, ended, standard, tried, label, total, done, swings_until,
  lessons_until, swing_place, lesson_place, swings, lessons, unread, tally
FROM standard_job
WHERE id > ''
ORDER BY id DESC
LIMIT 1;

-- name: STANDARD_JOB_COUNT_SWINGS :one
SELECT count(*), max(id)
FROM swing
WHERE id > ?1;

-- name: STANDARD_JOB_COUNT_LESSONS :one
SELECT count(*), max(id)
FROM lesson
WHERE id > ?1;

-- name: STANDARD_JOB_KEEP :exec
UPDATE standard_job
SET total = ?2, done = ?3, swings_until = ?4, lessons_until = ?5, swing_place = ?6, lesson_place = ?7,
  unread = ?8, tally = ?9
WHERE id = ?1
  AND state = 'running';

-- name: STANDARD_JOB_MADE :exec
UPDATE standard_job
SET swings = swings + ?2, lessons = lessons + ?3
WHERE id = ?1
  AND state = 'running';

-- name: STANDARD_JOB_END :exec
UPDATE standard_job
SET state = ?2, ended = ?3
WHERE id = ?1
  AND state = 'running';

-- name: STANDARD_JOB_KEPT_SWINGS :many
SELECT s.id, e.void_at IS NULL, r.number, r.standard, s.recorded_at, t.birth_date, t.sex, t.birth_year,
  t.junior, t.hand, t.pain, m.packed, t.height_m
FROM swing AS s
CROSS JOIN student AS t ON t.id = s.student_id
LEFT JOIN swing_edit AS e ON e.swing_id = s.id
LEFT JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
LEFT JOIN report_measures AS m ON m.report = r.number
WHERE s.id > ?1
  AND s.id <= ?2
ORDER BY s.id
LIMIT ?3;

-- name: STANDARD_JOB_LESSONS :many
SELECT l.id, {lesson_counts}, r.number, r.standard
FROM lesson AS l
LEFT JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE lesson_id = l.id)
WHERE l.id > ?1
  AND l.id <= ?2
ORDER BY l.id
LIMIT ?3;

-- name: STANDARD_JOB_LESSON_KEPT :many
SELECT m.packed
FROM swing AS s
LEFT JOIN report_measures AS m ON m.report = (SELECT max(number) FROM report WHERE swing_id = s.id)
WHERE s.lesson_id = ?1
  AND {swing_counts}
ORDER BY s.id
LIMIT ?2;

-- name: STANDARD_JOB_NEWEST_SWING :one
SELECT max(number)
FROM report
WHERE swing_id = ?1;

-- name: STANDARD_JOB_NEWEST_LESSON :one
SELECT max(number)
FROM report
WHERE lesson_id = ?1;
