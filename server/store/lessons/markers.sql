-- Versions of the club's map of marker names.

-- name: MARKERS_INSERT :exec
INSERT INTO marker_map (number, created_by, created, json)
VALUES (?1, ?2, ?3, ?4);

-- name: MARKERS_CURRENT :one
SELECT number, created_by, created, json
FROM marker_map
WHERE number = (SELECT max(number) FROM marker_map);

-- name: MARKERS_NUMBER :one
SELECT max(number)
FROM marker_map;
