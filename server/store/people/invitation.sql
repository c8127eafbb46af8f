-- Invitations into accounts.

-- name: INVITATION_MAKE_CLEAR :exec
DELETE FROM account_link
WHERE account_id = ?1;

-- name: INVITATION_MAKE :exec
INSERT INTO account_link (token_hash, account_id, made_by, created, expires)
VALUES (?1, ?2, ?3, ?4, ?5);

-- name: INVITATION_FIND :one
SELECT l.account_id, l.made_by, l.created, l.expires
FROM account_link AS l
CROSS JOIN account AS a ON a.id = l.account_id
WHERE l.token_hash = ?1
  AND l.expires > ?2
  AND a.disabled IS NULL;

-- name: INVITATION_USE :exec
DELETE FROM account_link
WHERE token_hash = ?1
  AND expires > ?2;

-- name: INVITATION_PURGE :exec
-- whole: at most one row for each account
DELETE FROM account_link
WHERE expires < ?1;

-- name: INVITATION_END_MADE :exec
DELETE FROM account_link
WHERE made_by = ?1;

-- name: INVITATION_END_STUDENT :exec
DELETE FROM account_link
WHERE account_id IN (
  SELECT id
  FROM account
  WHERE student_id = ?1
  UNION ALL
  SELECT account_id
  FROM guardian
  WHERE student_id = ?1
);
