-- The audit: one row for each write.

-- part: select_audit
SELECT id, at, account_id, action, object_kind, object_id, student_id, detail
FROM audit

-- name: AUDIT_INSERT :exec
INSERT INTO audit (id, at, account_id, action, object_kind, object_id, student_id, detail)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8);

-- name: AUDIT_LIST :many
{select_audit}
WHERE id < ?1
ORDER BY id DESC
LIMIT ?2;

-- name: AUDIT_LIST_ACCOUNT :many
{select_audit}
WHERE account_id = ?3
  AND id < ?1
ORDER BY id DESC
LIMIT ?2;

-- name: AUDIT_LIST_STUDENT :many
{select_audit}
WHERE student_id = ?3
  AND id < ?1
  AND (?4 IS NULL OR account_id = ?4)
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
