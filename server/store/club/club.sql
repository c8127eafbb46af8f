-- The club's own row.

-- name: CLUB_GET :one
SELECT name, notes, settings, created, version
FROM club
WHERE id = 1;

-- name: CLUB_INSERT :exec
INSERT INTO club (id, name, notes, settings, created)
VALUES (1, ?1, ?2, ?3, ?4);
