-- Proof that a file is sound: its pages, its schema, its references, and what must always hold between its
-- rows.

-- name: CHECK_PAGES :many
-- whole: a check looks at everything
SELECT integrity_check
FROM pragma_integrity_check(20)
WHERE integrity_check <> 'ok';

-- name: CHECK_REFERENCES :many
-- whole: a check looks at everything
SELECT DISTINCT "table" || ' to ' || parent
FROM pragma_foreign_key_check
LIMIT 20;

-- name: CHECK_SCHEMA :many
-- whole: a check looks at everything
SELECT name, sql
FROM sqlite_schema
WHERE sql IS NOT NULL
ORDER BY name;

-- name: CHECK_SAME_SCHEMA :one
-- whole: a check looks at everything
SELECT 1
FROM sqlite_schema
WHERE name = ?1
  AND sql = ?2;

-- name: CHECK_NO_REPORT :many
-- whole: a check looks at everything
SELECT s.id
FROM swing AS s
WHERE NOT EXISTS (SELECT 1 FROM report AS r WHERE r.swing_id = s.id)
LIMIT 20;

-- name: CHECK_LESSON_OTHER :many
-- whole: a check looks at everything
SELECT s.id
FROM swing AS s
CROSS JOIN lesson AS l ON l.id = s.lesson_id
WHERE l.student_id <> s.student_id
LIMIT 20;

-- name: CHECK_HOMEWORK_OTHER :many
-- whole: a check looks at everything
SELECT h.id
FROM homework AS h
CROSS JOIN fix AS f ON f.id = h.fix_id
WHERE f.student_id <> h.student_id
LIMIT 20;

-- name: CHECK_BASELINE_OTHER :many
-- whole: a check looks at everything
SELECT f.id
FROM fix AS f
LEFT JOIN swing AS s ON s.id = f.baseline_swing
LEFT JOIN lesson AS l ON l.id = f.baseline_lesson
WHERE s.student_id <> f.student_id
  OR l.student_id <> f.student_id
LIMIT 20;

-- name: CHECK_LOST_ANSWER :many
-- whole: a check looks at everything
WITH held (kind, id) AS (
  SELECT 'swing', id
  FROM swing
  UNION ALL
  SELECT 'student', id
  FROM student
  UNION ALL
  SELECT 'lesson', id
  FROM lesson
  UNION ALL
  SELECT 'fix', id
  FROM fix
  UNION ALL
  SELECT 'drill', id
  FROM drill
  UNION ALL
  SELECT 'account', id
  FROM account
  UNION ALL
  SELECT 'homework', id
  FROM homework
  UNION ALL
  SELECT 'homework_done', id
  FROM homework_done
  UNION ALL
  SELECT 'note', id
  FROM note
  UNION ALL
  SELECT 'device', id
  FROM device
)
SELECT i.key
FROM idempotency AS i
WHERE i.object_id IS NOT NULL
  AND i.object_kind IN (
    'swing', 'student', 'lesson', 'fix', 'drill', 'account', 'homework', 'homework_done', 'note',
      'device'
  )
  AND NOT EXISTS (SELECT 1 FROM held AS o WHERE o.kind = i.object_kind AND o.id = i.object_id)
LIMIT 20;

-- name: CHECK_NO_CONSENT :many
-- whole: a check looks at everything
SELECT s.id
FROM student AS s
WHERE {is_junior}
  AND NOT EXISTS (SELECT 1 FROM consent WHERE student_id = s.id AND scope = 'store_pictures')
  AND EXISTS (SELECT 1 FROM swing AS w WHERE w.student_id = s.id)
LIMIT 20;

-- name: CHECK_NO_HISTORY :many
-- whole: a check looks at everything
SELECT f.id
FROM fix AS f
WHERE NOT EXISTS (SELECT 1 FROM fix_event AS e WHERE e.fix_id = f.id AND e.status = f.status)
LIMIT 20;

-- name: CHECK_NO_AUDIT :many
-- whole: a check looks at everything
WITH made (kind, id) AS (
  SELECT 'Account ', id
  FROM account
  UNION ALL
  SELECT 'Student ', id
  FROM student
  UNION ALL
  SELECT 'Fix ', id
  FROM fix
)
SELECT t.kind || t.id
FROM made AS t
WHERE NOT EXISTS (SELECT 1 FROM audit AS a WHERE a.object_id = t.id)
LIMIT 20;

-- name: CHECK_UPLOADER :many
-- whole: a check looks at everything
SELECT s.id
FROM swing AS s
WHERE NOT EXISTS (SELECT 1 FROM account AS a WHERE a.id = s.uploaded_by)
  AND NOT EXISTS (SELECT 1 FROM ended AS e WHERE e.kind = 'account' AND e.object_id = s.uploaded_by)
LIMIT 20;

-- name: CHECK_TALLY :many
-- whole: a check looks at everything
-- what is kept of each coach (migrations 0017, 0020) beside what can be counted anew; week 0: students, 1: those without a fix
WITH told (account_id, week, number) AS (
  SELECT account_id, 0, students
  FROM coach_tally
  UNION ALL
  SELECT account_id, 1, without_fix
  FROM coach_tally
  UNION ALL
  SELECT account_id, week, ticks
  FROM coach_week
  UNION ALL
  SELECT t.account_id, 0, -1
  FROM team AS t
  CROSS JOIN student AS s ON s.id = t.student_id
  WHERE s.archived IS NULL
  UNION ALL
  SELECT t.account_id, 1, -1
  FROM team AS t
  CROSS JOIN student AS s ON s.id = t.student_id
  WHERE s.archived IS NULL
    AND NOT EXISTS (SELECT 1 FROM fix AS f WHERE f.student_id = s.id AND f.status = 'open')
  UNION ALL
  SELECT t.account_id, d.done_at - (d.done_at + 259200000) % 604800000, -1
  FROM team AS t
  CROSS JOIN homework AS h ON h.student_id = t.student_id
  CROSS JOIN homework_done AS d ON d.homework_id = h.id
  WHERE d.is_session
)
SELECT DISTINCT account_id
FROM told
GROUP BY account_id, week
HAVING sum(number) <> 0
LIMIT 20;

-- name: CHECK_STANDARD_TALLY :many
-- whole: a check looks at everything
-- what is kept of each version of the standard (migration 0019) beside what can be counted anew
WITH told (standard, number) AS (
  SELECT standard, swings
  FROM standard_tally
  UNION ALL
  SELECT standard, -count(DISTINCT swing_id)
  FROM report
  WHERE swing_id IS NOT NULL
  GROUP BY standard
)
SELECT standard
FROM told
GROUP BY standard
HAVING sum(number) <> 0
LIMIT 20;

-- name: CHECK_READING :many
-- whole: a check looks at everything
SELECT id
FROM swing
WHERE reading IS NOT NULL
  AND (NOT json_valid(reading) OR json_extract(reading, '$.schema') IS NOT 'leadside.reading/1')
LIMIT 20;

-- name: CHECK_MAP :many
-- whole: a check looks at everything
SELECT number
FROM marker_map
WHERE NOT json_valid(json)
  OR json_extract(json, '$.schema') IS NOT 'leadside.markers/1'
LIMIT 20;

-- name: CHECK_REPORTS :many
-- whole: a check looks at everything
SELECT id
FROM report
WHERE packed IS NOT NULL
  AND unpacked_or_null(packed, size) IS NULL
LIMIT 20;

-- name: CHECK_LOST_REVISION :many
-- whole: a check looks at everything
SELECT s.id
FROM swing AS s
LEFT JOIN swing_edit AS e ON e.swing_id = s.id
WHERE coalesce(e.revision, 1) <> 1 + (
    SELECT count(*)
    FROM revision AS r
    WHERE r.swing_id = s.id
      AND r.number < coalesce(e.revision, 1)
  )
LIMIT 20;

-- name: CHECK_DOCUMENTS :many
-- whole: a check looks at everything
SELECT id, document_hash, iif(packed IS NULL, document, unpacked_or_null(packed, size))
FROM swing;

-- name: CHECK_REVISIONS :many
-- whole: a check looks at everything
SELECT swing_id, document_hash, iif(packed IS NULL, document, unpacked_or_null(packed, size))
FROM revision;

-- name: CHECK_STILLS :many
-- whole: a check looks at everything
SELECT id, picture_hash, picture
FROM still;
