-- The rows whose large columns are read in pieces.

-- name: BLOB_DOCUMENT :one
SELECT rowid, document_hash
FROM swing
WHERE id = ?1;

-- name: BLOB_PICTURE :one
SELECT rowid, picture_hash
FROM still
WHERE id = ?1;
