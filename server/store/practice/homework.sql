-- Homework and its ticks.

-- ?2 = since when to count; the joins are in the order written: one student's few rows first.
-- part: select_homework
SELECT h.id, h.fix_id, h.student_id, h.drill_id, h.sessions_per_week, h.minutes, h.self_check_every,
  h.retest_at, h.confirmed, h.assigned_by, h.created, coalesce(h.ended, f.ended_at), h.version,
  f.fault, f.status, d.name,
  (SELECT count(*) FROM homework_done WHERE homework_id = h.id AND is_session),
  (SELECT count(*) FROM homework_done WHERE homework_id = h.id AND is_session AND done_at >= ?2),
  (SELECT max(done_at) FROM homework_done WHERE homework_id = h.id AND is_session),
  h.word_pain, h.paused_at, h.paused_area, h.paused_level, h.resumed_at, h.resumed_by,
  h.resumed_reason, f.waits
FROM homework AS h
CROSS JOIN fix AS f ON f.id = h.fix_id
CROSS JOIN drill AS d ON d.id = h.drill_id

-- Since ?4, which is ?5 as the least id of then: given, ended, paused or taken up again, ticked, or its fix changed.
-- part: homework_since
AND (
    ?4 = 0
    OR max(
      h.created, coalesce(h.ended, 0), coalesce(h.paused_at, 0), coalesce(h.resumed_at, 0),
      (SELECT coalesce(max(at), 0) FROM fix_event WHERE fix_id = h.fix_id)
    ) >= ?4
    OR EXISTS (SELECT 1 FROM homework_done WHERE homework_id = h.id AND id >= ?5)
  )

-- name: HOMEWORK_INSERT :exec
INSERT INTO homework (
  id, fix_id, student_id, drill_id, sessions_per_week, minutes, self_check_every, retest_at,
  confirmed, assigned_by, created, word_pain
)
SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12
FROM fix
WHERE id = ?2
  AND student_id = ?3;

-- name: HOMEWORK_BY_ID :one
{select_homework}
WHERE h.id = ?1;

-- name: HOMEWORK_LIST :many
{select_homework}
WHERE h.student_id = ?1
  {homework_since}
ORDER BY h.id DESC
LIMIT ?3;

-- name: HOMEWORK_LIST_CURRENT :many
{select_homework}
WHERE h.student_id = ?1
  AND h.ended IS NULL
  AND f.status = 'open'
  AND f.waits = 0
  {homework_since}
ORDER BY h.id
LIMIT ?3;

-- name: HOMEWORK_END :exec
UPDATE homework
SET ended = ?2, version = version + 1
WHERE id = ?1
  AND version = ?3;

-- name: HOMEWORK_PAUSE :exec
UPDATE homework
SET paused_at = ?2, paused_area = ?3, paused_level = ?4, version = version + 1
WHERE id = ?1
  AND (paused_at IS NULL OR paused_level < ?4);

-- name: HOMEWORK_RESUME :exec
UPDATE homework
SET paused_at = NULL, paused_area = NULL, paused_level = NULL, resumed_at = ?2, resumed_by = ?3,
  resumed_reason = ?4, word_pain = ?5, version = version + 1
WHERE id = ?1
  AND version = ?6;

-- name: HOMEWORK_PAIN_BEFORE :one
-- the newest level said of this homework, and the newest of this area in any homework of the student
SELECT
  (
    SELECT d.pain_level
    FROM homework AS h
    CROSS JOIN homework_done AS d ON d.homework_id = h.id
    WHERE h.id = ?1
      AND d.done_at <= ?4
      AND d.pain_level IS NOT NULL
    ORDER BY d.done_at DESC, d.id DESC
    LIMIT 1
  ),
  (
    SELECT d.pain_level
    FROM homework AS h
    CROSS JOIN homework_done AS d ON d.homework_id = h.id
    WHERE h.student_id = ?2
      AND d.pain_area = ?3
      AND d.done_at <= ?4
      AND d.pain_level IS NOT NULL
    ORDER BY d.done_at DESC, d.id DESC
    LIMIT 1
  );

-- name: HOMEWORK_EXISTS :one
SELECT 1
FROM homework
WHERE id = ?1;

-- name: HOMEWORK_DONE_INSERT :exec
INSERT INTO homework_done (
  id, homework_id, done_at, account_id, comment, passed, passed_of, pain_area, pain_level
)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9);

-- name: HOMEWORK_DONE_LIST :many
SELECT id, homework_id, done_at, account_id, comment, passed, passed_of, pain_area, pain_level
FROM homework_done
WHERE homework_id = ?1
  AND id < ?2
ORDER BY id DESC
LIMIT ?3;

-- name: HOMEWORK_DONE_BY_ID :one
SELECT id, homework_id, done_at, account_id, comment, passed, passed_of, pain_area, pain_level
FROM homework_done
WHERE id = ?1;

-- name: HOMEWORK_DONE_REMOVE :exec
DELETE FROM homework_done
WHERE id = ?1;

-- name: HOMEWORK_DONE_FORGET :exec
-- the answer that was kept for it
DELETE FROM idempotency
WHERE principal = ?1
  AND object_kind = 'homework_done'
  AND object_id = ?2;
