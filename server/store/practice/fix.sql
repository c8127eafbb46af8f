-- Fixes and their history.

-- part: select_fix
SELECT id, student_id, fault, opened_by, opened_at, status, ended_at, reason, overrule,
  baseline_swing, baseline_lesson, version, waits, together, conflicts
FROM fix

-- The free one of the two places of student ?2; both taken leaves 2, which the index then refuses.
-- part: free_place
CASE
  WHEN EXISTS (SELECT 1 FROM fix AS o WHERE o.student_id = ?2 AND o.place = 1 AND o.status = 'open') THEN 2
  ELSE 1
END

-- Every change of a fix has its event.
-- part: fix_since
AND (?4 = 0 OR (SELECT max(at) FROM fix_event WHERE fix_id = fix.id) >= ?4)

-- Does another fix of student ?2 than ?1 run now?
-- part: another_runs
EXISTS (SELECT 1 FROM fix AS r WHERE r.student_id = ?2 AND r.status = 'open' AND r.waits = 0 AND r.id <> ?1)

-- name: FIX_INSERT :exec
INSERT INTO fix (
  id, student_id, fault, place, opened_by, opened_at, status, reason, overrule, baseline_swing,
  baseline_lesson, waits, together, conflicts
)
VALUES (
  ?1, ?2, ?3, {free_place}, ?4, ?5, 'open', ?6, ?7, ?8, ?9,
  ?10 IS NULL AND {another_runs}, ?10, ?11
);

-- name: FIX_BY_ID :one
{select_fix}
WHERE id = ?1;

-- name: FIX_LIST :many
{select_fix}
WHERE student_id = ?1
  AND id < ?2
  {fix_since}
ORDER BY id DESC
LIMIT ?3;

-- name: FIX_LIST_OPEN :many
{select_fix}
WHERE student_id = ?1
  AND id < ?2
  AND status = 'open'
  {fix_since}
ORDER BY id DESC
LIMIT ?3;

-- name: FIX_UPDATE :exec
UPDATE fix
SET place = CASE
    WHEN ?2 <> 'open' OR status = 'open' THEN place
    WHEN EXISTS (
      SELECT 1 FROM fix AS o WHERE o.student_id = fix.student_id AND o.place = 1 AND o.status = 'open'
    ) THEN 2
    ELSE 1
  END,
  ended_at = CASE WHEN ?2 = 'open' THEN NULL ELSE coalesce(ended_at, ?3) END,
  waits = CASE
    WHEN ?2 <> 'open' OR status = 'open' THEN ?9
    ELSE EXISTS (
      SELECT 1
      FROM fix AS r
      WHERE r.student_id = fix.student_id
        AND r.status = 'open'
        AND r.waits = 0
        AND r.id <> ?1
    )
  END,
  together = CASE WHEN ?2 = 'open' AND status <> 'open' THEN NULL ELSE ?10 END,
  status = ?2, reason = ?4, overrule = ?5, baseline_swing = ?6, baseline_lesson = ?7, conflicts = ?11,
  version = version + 1
WHERE id = ?1
  AND version = ?8;

-- name: FIX_EXISTS :one
SELECT 1
FROM fix
WHERE id = ?1;

-- name: FIX_EVENT :exec
INSERT INTO fix_event (fix_id, at, account_id, status, reason)
VALUES (?1, ?2, ?3, ?4, ?5);

-- name: FIX_HISTORY :many
SELECT at, account_id, status, reason
FROM fix_event
WHERE fix_id = ?1
ORDER BY number
LIMIT ?2;

-- name: FIX_DRILLS :one
SELECT count(*)
FROM homework
WHERE fix_id = ?1
  AND ended IS NULL;

-- name: FIX_RUNNING_DRILLS :one
SELECT count(*)
FROM homework AS h
CROSS JOIN fix AS f ON f.id = h.fix_id
WHERE h.student_id = ?1
  AND h.ended IS NULL
  AND f.status = 'open'
  AND f.waits = 0;

-- name: FIX_NEXT :exec
-- At most one waits, for at most two are open.
UPDATE fix
SET waits = 0, version = version + 1
WHERE student_id = ?1
  AND status = 'open'
  AND waits = 1
  AND NOT EXISTS (
    SELECT 1
    FROM fix AS r
    WHERE r.student_id = ?1
      AND r.status = 'open'
      AND r.waits = 0
      AND r.id <> fix.id
  );

-- name: FIX_NEXT_HOMEWORK :exec
UPDATE homework
SET retest_at = ?2 + retest_at - created, created = ?2, version = version + 1
WHERE student_id = ?1
  AND ended IS NULL
  AND NOT EXISTS (SELECT 1 FROM homework_done AS d WHERE d.homework_id = homework.id)
  AND fix_id = (SELECT id FROM fix WHERE student_id = ?1 AND status = 'open');

-- name: FIX_NEXT_EVENT :exec
INSERT INTO fix_event (fix_id, at, account_id, status)
SELECT id, ?2, ?3, 'open'
FROM fix
WHERE student_id = ?1
  AND status = 'open';
