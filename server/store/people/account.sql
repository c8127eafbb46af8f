-- Accounts, and which juniors a guardian stands for.

-- part: select_account
SELECT id, role, name, sign_in, password_hash, password_temporary, student_id, created, disabled,
  version,
  EXISTS (
    SELECT 1
    FROM second_factor AS f
    WHERE f.account_id = account.id
      AND f.confirmed IS NOT NULL
  ),
  (SELECT max(last_seen) FROM session WHERE account_id = account.id)
FROM account

-- name: ACCOUNT_INSERT :exec
INSERT INTO account (
  id, role, name, sign_in, sign_in_key, password_hash, password_temporary, student_id, created,
  disabled
)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10);

-- name: ACCOUNT_BY_ID :one
{select_account}
WHERE id = ?1;

-- name: ACCOUNT_BY_SIGN_IN :one
{select_account}
WHERE sign_in_key = ?1;

-- name: ACCOUNT_LIST :many
-- which ones by the short rows of an index, the page's alone by their own
{select_account}
WHERE id IN (
    SELECT id
    FROM account INDEXED BY account_listed
    WHERE id > ?1
      AND (?3 IS NULL OR name_has(name, ?3))
      AND (?4 = 0 OR (disabled IS NOT NULL) = (?4 > 0))
    ORDER BY id
    LIMIT ?2
  )
ORDER BY id;

-- name: ACCOUNT_FAMILY :many
{select_account}
WHERE id IN (
    SELECT a.id
    FROM account AS a
    WHERE a.student_id = ?1
    UNION ALL
    SELECT g.account_id
    FROM guardian AS g
    CROSS JOIN student AS s ON s.id = g.student_id
    WHERE g.student_id = ?1
      AND {is_junior}
  )
ORDER BY id
LIMIT ?2;

-- name: ACCOUNT_UPDATE :exec
UPDATE account
SET role = ?2, name = ?3, disabled = ?4, version = version + 1
WHERE id = ?1
  AND version = ?5;

-- name: ACCOUNT_EXISTS :one
SELECT 1
FROM account
WHERE id = ?1;

-- name: ACCOUNT_ROLE_CHANGES :one
SELECT role <> ?2
FROM account
WHERE id = ?1;

-- name: ACCOUNT_END_SESSIONS :exec
UPDATE session
SET revoked = ?2
WHERE account_id = ?1
  AND revoked IS NULL;

-- name: ACCOUNT_SET_PASSWORD :exec
UPDATE account
SET password_hash = ?2, password_temporary = ?3
WHERE id = ?1;

-- name: ACCOUNT_REHASH :exec
UPDATE account
SET password_hash = ?2
WHERE id = ?1;

-- name: ACCOUNT_COUNT_HEADS :one
SELECT count(*)
FROM account
WHERE role = 'head'
  AND disabled IS NULL;

-- name: ACCOUNT_GUARDIAN_ADD :exec
INSERT INTO guardian (account_id, student_id, created)
VALUES (?1, ?2, ?3)
ON CONFLICT (account_id, student_id) DO NOTHING;

-- name: ACCOUNT_GUARDIAN_REMOVE :exec
DELETE FROM guardian
WHERE account_id = ?1
  AND student_id = ?2;

-- name: ACCOUNT_GUARDIAN_MAY :one
SELECT 1
FROM guardian AS g
JOIN student AS s ON s.id = g.student_id
  AND {is_junior}
WHERE g.account_id = ?1
  AND g.student_id = ?2;

-- name: ACCOUNT_GUARDIAN_STUDENTS :many
SELECT g.student_id
FROM guardian AS g
JOIN student AS s ON s.id = g.student_id
  AND {is_junior}
WHERE g.account_id = ?1
ORDER BY g.student_id
LIMIT ?2;
