-- Invitations and calendar feeds.

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

-- name: INVITATION_CALENDAR_CLEAR :exec
DELETE FROM calendar
WHERE account_id = ?1
  AND student_id = ?2;

-- name: INVITATION_CALENDAR_MAKE :exec
INSERT INTO calendar (token_hash, account_id, student_id, created)
VALUES (?1, ?2, ?3, ?4);

-- name: INVITATION_CALENDAR_FIND :one
SELECT c.account_id, c.student_id, c.created
FROM calendar AS c
CROSS JOIN account AS a ON a.id = c.account_id
CROSS JOIN student AS s ON s.id = c.student_id
LEFT JOIN guardian AS g ON g.account_id = c.account_id
  AND g.student_id = c.student_id
WHERE c.token_hash = ?1
  AND a.disabled IS NULL
  AND (a.student_id = c.student_id OR (g.account_id IS NOT NULL AND {is_junior}));

-- name: INVITATION_END_FEEDS :exec
DELETE FROM calendar
WHERE account_id = ?1;

-- name: INVITATION_END_MADE :exec
DELETE FROM account_link
WHERE made_by = ?1;

-- name: INVITATION_END_TAUGHT :exec
DELETE FROM calendar
WHERE student_id IN (SELECT student_id FROM team WHERE account_id = ?1);

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

-- name: INVITATION_END_STUDENT_FEEDS :exec
DELETE FROM calendar
WHERE student_id = ?1;
