-- The rows whose large columns are read in pieces.

-- name: BLOB_DOCUMENT :one
SELECT rowid, document_hash, packed IS NOT NULL
FROM swing
WHERE id = ?1;

-- name: BLOB_PICTURE :one
SELECT rowid, picture_hash, 0
FROM still
WHERE id = ?1;

-- name: BLOB_REVISION :one
SELECT rowid, document_hash, packed IS NOT NULL
FROM revision
WHERE id = ?1;

-- name: BLOB_UNPACKED :one
SELECT unpacked(packed, size)
FROM swing
WHERE id = ?1;

-- name: BLOB_UNPACKED_REVISION :one
SELECT unpacked(packed, size)
FROM revision
WHERE id = ?1;
