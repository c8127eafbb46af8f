-- Forgetting a person who signs in: the account with everything that hangs on it. What the person did stays,
-- under an id that leads nowhere.

-- name: ACCOUNT_ERASE_KEPT_ANSWERS :exec
DELETE FROM idempotency
WHERE principal = ?1;

-- name: ACCOUNT_ERASE_ANSWERS_ABOUT :exec
-- whole: kept answers are few, seven days'
DELETE FROM idempotency
WHERE object_id = ?1;

-- name: ACCOUNT_ERASE_DETAILS :exec
UPDATE audit
SET detail = NULL
WHERE object_id = ?1
  AND detail IS NOT NULL;

-- name: ACCOUNT_ERASE_ROW :exec
-- sessions, invitations, calendar feeds, team and guardian rows go with it
DELETE FROM account
WHERE id = ?1;
