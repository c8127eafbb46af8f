-- When fixes are looked at again, and what is looked at then.

-- part: retest_columns
SELECT r.id, r.student_id, r.fix_id, r.begun_at, r.due_at, r.planned_by, r.moved_by, r.moved_at,
  r.moved_reason, r.ended_at, r.version, s.name, f.fault, f.waits

-- part: join_retest
CROSS JOIN student AS s ON s.id = r.student_id
CROSS JOIN fix AS f ON f.id = r.fix_id

-- part: retest_due
  AND r.ended_at IS NULL
  AND f.waits = 0
  AND r.due_at < ?2
  AND (r.due_at, r.id) > (?3, ?4)
ORDER BY r.due_at, r.id
LIMIT ?5;

-- name: RETEST_PLAN :exec
INSERT INTO retest (id, student_id, fix_id, begun_at, due_at, planned_by)
SELECT ?1, ?2, ?3, ?4, h.retest_at, ?5
FROM homework AS h
WHERE h.fix_id = ?3
  AND h.ended IS NULL
ORDER BY h.retest_at DESC
LIMIT 1;

-- name: RETEST_BY_ID :one
{retest_columns}
FROM retest AS r
{join_retest}
WHERE r.id = ?1;

-- name: RETEST_LIST :many
{retest_columns}
FROM retest AS r
{join_retest}
WHERE r.student_id = ?1
  AND r.id < ?2
ORDER BY r.id DESC
LIMIT ?3;

-- name: RETEST_DUE :many
{retest_columns}
FROM team AS t
CROSS JOIN retest AS r ON r.student_id = t.student_id
{join_retest}
WHERE t.account_id = ?1
{retest_due}

-- name: RETEST_DUE_HEAD :many
{retest_columns}
FROM retest AS r
{join_retest}
WHERE ?1 IS NOT NULL
{retest_due}

-- name: RETEST_MOVE :exec
UPDATE retest
SET due_at = ?2, moved_by = ?3, moved_at = ?4, moved_reason = ?5, version = version + 1
WHERE id = ?1
  AND version = ?6
  AND ended_at IS NULL;

-- name: RETEST_EXISTS :one
SELECT 1
FROM retest
WHERE id = ?1
  AND ended_at IS NULL;

-- name: RETEST_HOMEWORK :exec
UPDATE homework
SET retest_at = ?2, version = version + 1
WHERE fix_id = ?1
  AND ended IS NULL;

-- name: RETEST_END :exec
UPDATE retest
SET ended_at = ?2, version = version + 1
WHERE fix_id = ?1
  AND ended_at IS NULL;

-- name: RETEST_AGAIN :exec
INSERT INTO retest (id, student_id, fix_id, begun_at, due_at, planned_by)
SELECT ?1, student_id, fix_id, ?3, ?3 + due_at - begun_at, ?4
FROM retest
WHERE fix_id = ?2
ORDER BY id DESC
LIMIT 1;

-- name: RETEST_BEGIN :exec
UPDATE retest
SET due_at = ?2 + due_at - begun_at, begun_at = ?2, version = version + 1
WHERE ended_at IS NULL
  AND fix_id = (SELECT id FROM fix WHERE student_id = ?1 AND status = 'open');

-- name: RETEST_SILENCE :exec
DELETE FROM inbox
WHERE retest_id IN (SELECT id FROM retest WHERE student_id = ?1);

-- name: RETEST_PLANNED :many
{retest_columns}
FROM retest AS r
{join_retest}
WHERE r.student_id = ?1
  AND r.ended_at IS NULL
  AND f.waits = 0
ORDER BY r.id
LIMIT ?2;

-- name: RETEST_READINGS :many
SELECT s.id, s.lesson_id, s.recorded_at, r.number
FROM swing AS s
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
WHERE s.student_id = ?1
  AND {swing_counts}
ORDER BY s.id DESC
LIMIT ?2;

-- name: RETEST_FIRSTS :many
SELECT s.id, s.lesson_id, s.recorded_at, r.number
FROM student AS p
CROSS JOIN swing AS s ON s.id = (
    SELECT min(s.id)
    FROM swing AS s
    WHERE s.student_id = p.id
      AND {swing_counts}
  )
CROSS JOIN report AS r ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id)
WHERE p.id > ?1
ORDER BY p.id DESC
LIMIT ?2;
