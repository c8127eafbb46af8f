-- The audit: one row for each write.

-- part: select_audit
SELECT id, at, account_id, action, object_kind, object_id, student_id, detail
FROM audit

-- From ?3 to ?4. The id is made when the row is written, a moment after its time; ?1 and ?5 hold it between.
-- part: audit_times
id < ?1
  AND id >= ?5
  AND at >= ?3
  AND at < ?4

-- name: AUDIT_INSERT :exec
INSERT INTO audit (id, at, account_id, action, object_kind, object_id, student_id, detail)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8);

-- name: AUDIT_LIST :many
{select_audit}
WHERE {audit_times}
ORDER BY id DESC
LIMIT ?2;

-- name: AUDIT_LIST_ACCOUNT :many
{select_audit}
WHERE account_id = ?6
  AND {audit_times}
ORDER BY id DESC
LIMIT ?2;

-- name: AUDIT_LIST_STUDENT :many
{select_audit}
WHERE student_id = ?7
  AND {audit_times}
  AND (?6 IS NULL OR account_id = ?6)
ORDER BY id DESC
LIMIT ?2;

-- name: AUDIT_NEW_READING :one
-- ids are by time, so this looks at the student's rows since then alone
SELECT 1
FROM student AS s
WHERE s.id = ?1
  AND {is_junior}
  AND NOT EXISTS (
    SELECT 1
    FROM audit
    WHERE student_id = ?1
      AND id >= ?2
      AND account_id = ?3
      AND action = ?4
      AND object_kind = ?5
  );

-- name: AUDIT_NEW_LISTING :one
SELECT 1
WHERE ?1 IS NULL
  AND ?5 IS NOT NULL
  AND NOT EXISTS (SELECT 1 FROM audit WHERE account_id = ?3 AND id >= ?2 AND action = ?4);
