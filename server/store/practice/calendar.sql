-- Calendar feeds.

-- name: CALENDAR_CLEAR :exec
DELETE FROM calendar
WHERE account_id = ?1
  AND student_id = ?2;

-- name: CALENDAR_MAKE :exec
INSERT INTO calendar (token_hash, account_id, student_id, created)
VALUES (?1, ?2, ?3, ?4);

-- name: CALENDAR_FIND :one
SELECT c.account_id, c.student_id, c.created
FROM calendar AS c
CROSS JOIN account AS a ON a.id = c.account_id
CROSS JOIN student AS s ON s.id = c.student_id
LEFT JOIN guardian AS g ON g.account_id = c.account_id
  AND g.student_id = c.student_id
WHERE c.token_hash = ?1
  AND a.disabled IS NULL
  AND (a.student_id = c.student_id OR (g.account_id IS NOT NULL AND {is_junior}));

-- name: CALENDAR_END_ACCOUNT :exec
DELETE FROM calendar
WHERE account_id = ?1;

-- name: CALENDAR_END_TAUGHT :exec
DELETE FROM calendar
WHERE student_id IN (SELECT student_id FROM team WHERE account_id = ?1);

-- name: CALENDAR_END_STUDENT :exec
DELETE FROM calendar
WHERE student_id = ?1;
