-- Second factors and recovery codes.

-- name: SECOND_FACTOR_GET :one
SELECT sealed, started, confirmed, last_step
FROM second_factor
WHERE account_id = ?1;

-- name: SECOND_FACTOR_CLEAR :exec
DELETE FROM second_factor
WHERE account_id = ?1
  AND confirmed IS NULL;

-- name: SECOND_FACTOR_START :exec
INSERT INTO second_factor (account_id, sealed, started)
VALUES (?1, ?2, ?3);

-- name: SECOND_FACTOR_CONFIRM :exec
UPDATE second_factor
SET confirmed = ?2
WHERE account_id = ?1
  AND confirmed IS NULL;

-- name: SECOND_FACTOR_TAKE :exec
UPDATE second_factor
SET last_step = ?2
WHERE account_id = ?1
  AND last_step < ?2;

-- name: SECOND_FACTOR_REMOVE :exec
DELETE FROM second_factor
WHERE account_id = ?1;

-- name: SECOND_FACTOR_RECOVERY_ADD :exec
INSERT INTO recovery_code (account_id, code_hash)
VALUES (?1, ?2);

-- name: SECOND_FACTOR_RECOVERY_USE :exec
DELETE FROM recovery_code
WHERE account_id = ?1
  AND code_hash = ?2;
