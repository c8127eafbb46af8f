-- Versions of what the club replaces whole. A map of marker names has no label (?2).

-- name: VERSION_STANDARD_INSERT :exec
INSERT INTO standard (number, label, created_by, created, json)
VALUES (?1, ?2, ?3, ?4, ?5);

-- name: VERSION_STANDARD_CURRENT :one
SELECT number, label, created_by, created, json
FROM standard
WHERE number = (SELECT max(number) FROM standard);

-- name: VERSION_STANDARD_NUMBER :one
SELECT max(number)
FROM standard;

-- name: VERSION_STANDARD_BY_NUMBER :one
SELECT number, label, created_by, created, json
FROM standard
WHERE number = ?1;

-- name: VERSION_STANDARD_LIST :many
SELECT v.number, v.label, v.created_by, v.created, a.name, coalesce(t.swings, 0)
FROM standard AS v
LEFT JOIN account AS a ON a.id = v.created_by
LEFT JOIN standard_tally AS t ON t.standard = v.number
WHERE v.number <= (SELECT max(number) FROM standard)
ORDER BY v.number DESC
LIMIT ?1;

-- name: VERSION_MARKERS_INSERT :exec
INSERT INTO marker_map (number, created_by, created, json)
VALUES (?1, ?3, ?4, ?5);

-- name: VERSION_MARKERS_CURRENT :one
SELECT number, NULL, created_by, created, json
FROM marker_map
WHERE number = (SELECT max(number) FROM marker_map);

-- name: VERSION_MARKERS_NUMBER :one
SELECT max(number)
FROM marker_map;
