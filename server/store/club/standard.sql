-- Versions of the house standard.

-- name: STANDARD_INSERT :exec
INSERT INTO standard (number, label, created_by, created, json)
VALUES (?1, ?2, ?3, ?4, ?5);

-- name: STANDARD_CURRENT :one
SELECT number, label, created_by, created, json
FROM standard
WHERE number = (SELECT max(number) FROM standard);

-- name: STANDARD_NUMBER :one
SELECT max(number)
FROM standard;
