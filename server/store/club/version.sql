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
